"""Use cases: the verbs of the job as plain functions over a site."""
