DROP TABLE stock_levels, movements, receipt_lines, receipts, units, lots, product_identifiers, products;
