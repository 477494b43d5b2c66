"""Days on the pages of a desk are written 2026-12-31, and no other way: 01/03/2027 is two days of one year."""

DATE_INPUT_FORMATS = ["%Y-%m-%d"]
DATETIME_INPUT_FORMATS = ["%Y-%m-%d %H:%M", "%Y-%m-%d %H:%M:%S"]
