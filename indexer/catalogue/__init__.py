"""The only room that knows the database: tables, migrations, the library and its search.

Import `indexer.catalogue.library` where it is used, not at the top of a module that the console loads for `--help`:
it brings SQLAlchemy along.
"""
