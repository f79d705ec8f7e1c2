"""Paper and files made from one plan: the packet (PDF), the calendar and the workbook."""
