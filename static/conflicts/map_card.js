// @ts-check
// The card of the symbol or line that somebody has turned to: its words, and where to read on.

export class Card {
  /** @param {HTMLElement} place @param {() => void} closed */
  constructor(place, closed) {
    this.place = place;
    this.closed = closed;
    place.addEventListener("keydown", (event) => {
      if (event.key === "Escape") this.close();
    });
  }

  /**
   * @param {{heading: string, words: string}} card
   * @param {string} [address]
   * @param {string} [linkWords]
   */
  show({ heading, words }, address = "", linkWords = "") {
    const head = document.createElement("h3");
    head.textContent = heading;
    const body = document.createElement("p");
    body.textContent = words;
    const foot = document.createElement("div");
    foot.className = "map-card-foot";
    if (address) {
      const link = document.createElement("a");
      link.className = "more";
      link.href = address;
      link.textContent = linkWords;
      foot.append(link);
    }
    const button = document.createElement("button");
    button.type = "button";
    button.className = "map-button has-words";
    button.textContent = "Close";
    button.addEventListener("click", () => this.close());
    foot.append(button);
    this.place.replaceChildren(head, body, foot);
    this.place.hidden = false;
  }

  close() {
    if (this.place.hidden) return;
    const hadFocus = this.place.contains(document.activeElement);
    this.place.hidden = true;
    this.place.replaceChildren();
    this.closed();
    if (hadFocus) /** @type {HTMLElement | null} */ (this.place.parentElement?.querySelector(".map-view"))?.focus();
  }
}
