"""One module a step: v0001_..., v0002_..."""
