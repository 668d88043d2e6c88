"""The engine as it once was, whole: its parts' behaviour, power, order and time, to hold the product's against.

It takes the product's circuits and its settings of the rules, and nothing else of it: what the product's engine, or a
part's file, becomes changes nothing here. A state is the product's state in its own numbers: levels and marks by
device, waits, offs, and what is open; `test_against_oracle.py` compares them as they are.

It is not to be improved. A rule that rightly changes is changed here too, by hand, in the commit that changes it.
"""
