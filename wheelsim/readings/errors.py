"""How far the tools of a shop usually err: common practice, no source."""

GAUGE_SD = 0.1e-3  # a gap by rule or calliper [m]
DIAL_SD = 0.05e-3  # [m]
METER_SCATTER = 0.05  # of the reading, a standard deviation
METER_SCALE_SD = 0.03  # one error common to all readings of a meter
