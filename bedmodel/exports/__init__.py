"""Files for the shop and for other programs, written from the finished bed."""
