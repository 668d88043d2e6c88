"""Why, and what: causes out of recorded runs; what a circuit computes, remembers and costs; mistakes that would fit."""
