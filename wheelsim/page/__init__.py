"""The bench page: one job on a tablet beside the stand. Needs the extra ``bench``."""
