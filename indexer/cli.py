"""The console commands of the engine: parse, call, print."""
