"""Measurements that nobody's tests run."""
