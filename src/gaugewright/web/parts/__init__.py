"""The parts of a job's page, in the order the job goes."""
