"""Everything known of one bank: what every screen, report and export reads."""

from dataclasses import dataclass

from tco.bank.arrangements import Arrangement
from tco.bank.checks.check import Screening
from tco.bank.wiring.wiring import Wiring
from tco.money.risk import Risk
from tco.physics.arrays import FloatArray
from tco.pipeline import Priced


@dataclass(frozen=True)
class Result(Priced):
    """One bank priced, and judged.

    With draws, `costs` has the total cost in each of them, shape (draws,), and `risk` what they
    say; None without.
    """

    screening: Screening
    costs: FloatArray | None = None
    risk: Risk | None = None

    @property
    def arrangement(self) -> Arrangement:
        """Which packs, how many in series and in parallel."""
        return self.bank.arrangement

    @property
    def wiring(self) -> Wiring | None:
        """How they are wired; None where no cable or fuse does."""
        return self.bank.wiring

    @property
    def feasible(self) -> bool:
        """Whether no requirement fails."""
        return self.screening.feasible

    @property
    def hours_without_power(self) -> float:
        """Hours of a mean year, new, in which essential loads go short. [h/year]"""
        return self.year["hours_without_power"]

    @property
    def wh_per_kg(self) -> float:
        """Nominal energy over mass of the packs."""
        return self.arrangement.energy_wh / self.arrangement.mass_kg

    @property
    def wh_per_l(self) -> float | None:
        """Nominal energy over outside volume, None where the dimensions are not known."""
        volume = self.arrangement.pack.volume_l
        return None if volume is None else self.arrangement.pack.energy_wh / volume

    @property
    def price_per_usable_kwh(self) -> float:
        """Price of the packs over the energy within their usable depth, new."""
        return self.arrangement.pack.price * self.arrangement.packs / (
            self.arrangement.usable_wh / 1000.0
        )  # fmt: skip
