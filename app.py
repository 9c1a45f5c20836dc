"""Opens the screens, nothing else: `streamlit run app.py`."""

import streamlit as st

SCREENS = {
    "answer": "The answer",
    "system": "System and use",
    "candidates": "Candidates",
    "evidence": "Evidence",
    "fits": "What fits",
    "wiring": "Space and wiring",
    "years": "The years ahead",
    "weigh": "Weighing two",
    "after_purchase": "After the purchase",
    "prices": "Prices and assumptions",
}
# where a screen is found under another name than its file's
ADDRESSES = {"after_purchase": "kept"}


def main() -> None:
    """Show the chosen screen."""
    st.set_page_config(page_title="Which battery?", page_icon="🔋", layout="wide")
    pages = [
        st.Page(
            f"tco/screens/{name}.py",
            title=title,
            url_path=ADDRESSES.get(name, name),
            default=name == "answer",
        )
        for name, title in SCREENS.items()
    ]
    st.navigation(pages, position="top").run()


if __name__ == "__main__":
    main()
