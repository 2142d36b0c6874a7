"""Data that travels with the program: the vocabulary, what was learned from marked narrations, JSON Schemas."""
