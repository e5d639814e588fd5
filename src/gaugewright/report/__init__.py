"""The handover sheet and the work record, with their pictures."""
