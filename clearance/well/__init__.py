"""What stands around the wheel: parts drawn from measurements, and scans."""
