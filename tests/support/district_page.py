"""The district page of a desk that answers on a port of this computer, in a browser."""

import threading
from contextlib import contextmanager

import uvicorn

from maps.desk.refusals import Key
from maps.desk.server import make_app
from maps.desk.serving import open_port


@contextmanager
def served(folder, key: Key | None = None):
    """Serve the desk of a folder; gives its key. With a key, on its port again."""
    taken = open_port(key.port, 1) if key else open_port()
    key = key or Key(taken.getsockname()[1])
    app = make_app(folder, key=key)
    server = uvicorn.Server(uvicorn.Config(app, log_level="warning"))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [taken]})
    thread.start()
    try:
        yield key
    finally:
        server.should_exit = True
        thread.join(20)
        taken.close()


class DistrictGrid:
    """The grid of a district page that is open."""

    def __init__(self, page):
        self.page = page

    def checked(self, words: str = "ault"):
        """Wait until the faults have been told: `words` are in their heading."""
        title = self.page.locator("#faults-title")
        title.filter(has_text=words).filter(has_not_text="Checking").wait_for()
        return title.inner_text()

    def kept(self, words: str = "kept as a draft"):
        """Wait until the line beside the save button has these words."""
        self.page.locator("#kept", has_text=words).wait_for()

    def press(self, *keys: str) -> None:
        for key in keys:
            self.page.keyboard.press(key)

    def cell(self, row: int, column: str):
        """A cell of the grid by its row as shown and its column's heading."""
        at = self.columns().index(column)
        return self.page.locator(f"#g-{row}-{at}")

    def columns(self) -> list[str]:
        heads = self.page.locator("#sheet .head .heading bdi")
        return heads.all_inner_texts()

    def go(self, row: int, column: str) -> None:
        """Choose a cell by keys, from wherever the selection is."""
        self.page.locator("#sheet").focus()
        self.press("Control+Home")
        for _ in range(row):
            self.press("ArrowDown")
        for _ in range(self.columns().index(column)):
            self.press("ArrowRight")

    def paste(self, text: str) -> None:
        """Paste as a spreadsheet program's copy is pasted."""
        self.page.locator("#sheet").evaluate(
            """(sheet, text) => {
              sheet.focus();
              const clipboardData = new DataTransfer();
              clipboardData.setData("text/plain", text);
              sheet.dispatchEvent(new ClipboardEvent("paste",
                { clipboardData, bubbles: true, cancelable: true }));
            }""",
            text,
        )

    def copied(self) -> str:
        """Copy the selection and return what went to the clipboard."""
        return self.page.locator("#sheet").evaluate(
            """(sheet) => {
              sheet.focus();
              const clipboardData = new DataTransfer();
              sheet.dispatchEvent(new ClipboardEvent("copy",
                { clipboardData, bubbles: true, cancelable: true }));
              return clipboardData.getData("text/plain");
            }"""
        )


class DistrictPage(DistrictGrid):
    """A page with the grid, and what it complained about."""

    def __init__(self, browser, key: Key, name: str, size=(1366, 768), table="sources"):
        self.context = browser.new_context(
            viewport={"width": size[0], "height": size[1]}, reduced_motion="reduce"
        )
        cookie = {"name": key.cookie, "value": key.session}
        home = f"http://127.0.0.1:{key.port}"
        self.context.add_cookies([{**cookie, "url": home}])
        super().__init__(self.context.new_page())
        self.asked: list[str] = []
        self.complaints: list[str] = []
        self.page.on("request", lambda request: self.asked.append(request.url))
        self.page.on("console", self._console)
        self.page.on("pageerror", lambda error: self.complaints.append(str(error)))
        self.home = home
        self.page.goto(f"{home}/s/{name}/district#{table}")
        self.checked()

    def _console(self, message) -> None:
        if message.type in ("error", "warning"):
            self.complaints.append(message.text)
