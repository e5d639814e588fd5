"""Units, quantities and what a pressure is measured against: the only place that converts."""
