"""Small grammars, one a module: issues, work done and to do, accessories, measurements, states."""
