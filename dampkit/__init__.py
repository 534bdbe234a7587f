"""dampkit: from a damper bench log to a verdict."""

from __future__ import annotations

__version__ = "0.1.0"
