"""Claims decided on a formula of one gt, for circuits with more states than can be walked."""
