"""Amounts of money in words."""


def money(amount: float, currency: str, *, digits: int = 0) -> str:
    """An amount with its currency, minus first: `-€1,200`, `CHF 1,200`."""
    text = f"{abs(amount):,.{digits}f}"
    sign = "-" if amount < 0 and text.strip("0.,") else ""
    gap = " " if currency[-1:].isalpha() else ""
    return f"{sign}{currency}{gap}{text}"
