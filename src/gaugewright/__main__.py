"""`python -m gaugewright` is the command `gaugewright`."""

from __future__ import annotations

import sys

from gaugewright.cli import main

sys.exit(main())
