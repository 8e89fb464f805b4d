"""What to do about it: job, verdict, plan and passes."""
