"""Springs together: in series, in parallel, with a helper that comes in late."""

from __future__ import annotations

from dataclasses import dataclass


def in_series(*rates: float) -> float:
    """Each carries the whole load: a bar inside a tube, a spring on its rubber, a spring on its tyre. Any one unit."""
    return 1 / sum(1 / rate for rate in rates)


def in_parallel(*rates: float) -> float:
    """Each is moved by the same travel."""
    return float(sum(rates))


@dataclass(frozen=True)
class HelperSpring:
    """A main spring alone up to `contact_m` of deflection, then the helper leaf with it."""

    main_rate_n_m: float
    helper_rate_n_m: float
    contact_m: float

    def rate_n_m(self, load_n: float) -> float:
        """Rate at a load."""
        touching = load_n > self.main_rate_n_m * self.contact_m
        return self.main_rate_n_m + (self.helper_rate_n_m if touching else 0.0)
