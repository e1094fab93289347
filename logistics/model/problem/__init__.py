"""Room logistics/model/problem."""
