"""What the tools show, kept as read: gauge, dial, meter, a spoke's tone, a bare rim's tones."""
