from tests.hospital import hospital

__all__ = ["hospital"]
