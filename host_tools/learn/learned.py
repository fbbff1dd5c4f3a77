"""All that was learned of a radio."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from host_tools.learn.bands import Bands
    from host_tools.learn.cycle import Scheme
    from host_tools.learn.finding import Finding
    from host_tools.learn.kinds import KindFound
    from host_tools.learn.loss import LossFound
    from host_tools.learn.markers import Markers
    from host_tools.learn.totals import SumFound
    from host_tools.learn.train import Train
    from host_tools.learn.visits import Heard

ON_ITS_OWN = 0


@dataclass(frozen=True, eq=False)
class Shared:
    """That a channel is shared: its marker, its scheme, which share of its rounds arrives whole,
    and whether a plan can say all this (`limit` is "", or why not)."""

    markers: Markers
    scheme: Scheme
    whole_share: float
    limit: str

    @property
    def is_carried(self) -> bool:
        """Whether a ship file can be written for it."""
        return not self.limit


@dataclass(frozen=True, eq=False)
class ChannelFound:
    """One channel in use. `said` are the widths that were heard while the transmitter was on,
    `valid_us` what has to be valid for that (None: what is valid anyway)."""

    train: Train
    noise_half_us: float
    said: tuple[float, float]
    loss: LossFound
    shared: Shared | None
    is_restless: bool
    valid_us: tuple[int, int] | None

    @property
    def name(self) -> str:
        """As in the trace."""
        return self.train.name


@dataclass(frozen=True, eq=False)
class ControlFound:
    """One control. `slot` counts from 1; ON_ITS_OWN on a channel that is not shared. `bands` are
    those of a key or switch."""

    name: str
    channel: str
    slot: int
    heard: Heard
    kind: KindFound
    bands: Bands | None
    dead_band_half_us: int
    response_s: float


@dataclass(frozen=True, eq=False)
class Learned:
    """The whole. `findings` say of each thing how sure it is."""

    source: str
    period_us: float
    jitter_us: float
    lost_after_ms: int
    channels: tuple[ChannelFound, ...]
    controls: tuple[ControlFound, ...]
    sums: tuple[SumFound, ...]
    findings: tuple[Finding, ...]
