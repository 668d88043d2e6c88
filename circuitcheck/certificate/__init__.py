"""Proofs that others can check: a second encoding of the rules, the files of a certificate, and what checks them."""
