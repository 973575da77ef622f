"""The shape of what people enter under the roof."""
