"""How all tests run: nothing fails for being slow, whatever else the machine does meanwhile."""

from __future__ import annotations

from hypothesis import HealthCheck, settings

settings.register_profile("unhurried", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("unhurried")
