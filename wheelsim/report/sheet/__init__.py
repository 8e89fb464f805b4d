"""Paper: sheets for the stand, the customer and the class; one content, written as PDF or HTML."""
