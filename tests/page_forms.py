"""A page's form as a browser would send it back: every control with the value that it shows."""

from html.parser import HTMLParser

NOT_SENT = {"submit", "button", "file", "image", "reset"}


class _Controls(HTMLParser):
    """Collects the names and values of inputs, text areas and selects."""

    def __init__(self):
        super().__init__()
        self.values = {}
        self._text_area = None
        self._select = None

    def handle_starttag(self, tag, attrs):
        attributes = dict(attrs)
        if tag == "input" and attributes.get("type") not in NOT_SENT:
            is_box = attributes.get("type") in {"checkbox", "radio"}
            if not is_box or "checked" in attributes:
                self._put(attributes.get("name"), attributes.get("value", "on" if is_box else ""))
        elif tag == "textarea":
            self._text_area = attributes.get("name")
            self._put(self._text_area, "")
        elif tag == "select":
            self._select = attributes.get("name")
        elif tag == "option" and self._select and "selected" in attributes:
            self._put(self._select, attributes.get("value", ""))

    def handle_data(self, data):
        if self._text_area in self.values:
            self.values[self._text_area] += data

    def handle_endtag(self, tag):
        if tag == "textarea":
            if self._text_area in self.values:
                # HTML drops one newline after the opening tag, which Django writes.
                shown = self.values[self._text_area]
                self.values[self._text_area] = shown.removeprefix("\r").removeprefix("\n")
            self._text_area = None
        elif tag == "select":
            self._select = None

    def _put(self, name, value):
        if name and "__prefix__" not in name and "csrf" not in name:
            self.values[name] = value or ""


def form_of(client, url):
    """Names and values of the controls on a page that opens."""
    return controls_of(client.get(url))


def controls_of(response):
    """Names and values of the controls on a page that came."""
    assert response.status_code == 200
    controls = _Controls()
    controls.feed(response.content.decode())
    return controls.values


def sent_as_shown(client, url, typed, **kwargs):
    """The answer to a form that is sent with what its page put there, and with what somebody typed."""
    return client.post(url, form_of(client, url) | typed, **kwargs)
