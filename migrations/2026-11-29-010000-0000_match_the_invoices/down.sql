DROP TABLE estate.invoice_lines, estate.invoices;
