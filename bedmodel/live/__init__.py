"""A report that follows its sheet: what changed is made anew, and an open page shows it."""
