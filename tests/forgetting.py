"""Everything that tco remembers forgotten, so that its work is done afresh, or timed."""

import sys


def forget_all() -> None:
    """Forget what functions of tco remember by their arguments, and what its stages do."""
    for module in [module for name, module in sys.modules.items() if _of_engine(name)]:
        for value in vars(module).values():
            for name in ("cache_clear", "forget"):
                if callable(forget := getattr(value, name, None)) and not isinstance(value, type):
                    forget()


def _of_engine(name: str) -> bool:
    return name.startswith("tco.") and not name.startswith("tco.screens")
