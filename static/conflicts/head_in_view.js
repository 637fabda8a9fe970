// @ts-check
// A profile that is wider than the screen opens where the head is, not at the entry.

const head = document.querySelector("[data-scrolls] .drilled-head");
const box = head?.closest("[data-scrolls]");
if (head && box) {
  const { left, width } = head.getBoundingClientRect();
  const from = box.getBoundingClientRect().left + box.clientWidth / 2;
  box.scrollLeft += left + width / 2 - from;
}
