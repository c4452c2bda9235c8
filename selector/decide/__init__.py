"""The choice and its proof."""
