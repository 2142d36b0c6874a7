"""What the commands write on a terminal or into a pipe; `indexer.cli` says which commands there are."""
