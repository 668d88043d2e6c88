"""What holds: conditions over levels, watches beside a run, and runs over every order that is open."""
