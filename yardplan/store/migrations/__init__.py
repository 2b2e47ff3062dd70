"""The history of the tables. Each revision in `versions` is closed: a change of the tables is a new one."""
