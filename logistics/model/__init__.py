"""The programme: index sets and numbers in, a plan out."""
