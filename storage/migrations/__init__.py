"""The tables' history: one module for each change, applied in order by ``Store.upgrade``."""
