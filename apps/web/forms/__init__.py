"""What people type, read strictly and echoed back; never a rule of the trade."""
