"""Printed sheets (job, record, practice): one description of the content, written as PDF or HTML."""
