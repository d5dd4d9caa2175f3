"""Reading and writing files: the job file, its schema, the folder of results."""

from squab.files.jobfile import read_job

__all__ = ["read_job"]
