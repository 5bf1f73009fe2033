"""What each verb of the command line does; one file a verb, each with ``run``."""
