"""The workroom in the browser. `create_app` makes it; README.md beside says how a page is added."""

from squab.web.app import create_app

__all__ = ["create_app"]
