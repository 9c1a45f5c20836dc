"""Times as the reader's clock shows them."""

from datetime import datetime
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import streamlit as st


def clock(moment: datetime, form: str = "%H:%M:%S") -> str:
    """A moment in the time zone of the browser; in the server's where the browser says none."""
    name = st.context.timezone
    try:
        return moment.astimezone(ZoneInfo(name) if name else None).strftime(form)
    except (ZoneInfoNotFoundError, ValueError):
        return moment.astimezone().strftime(form)
