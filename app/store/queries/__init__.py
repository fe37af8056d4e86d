"""Reading: one module per noun, each answer a frozen dataclass."""
