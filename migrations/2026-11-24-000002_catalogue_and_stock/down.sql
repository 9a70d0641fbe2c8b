DROP TABLE stock_levels, shelf_movements, receipt_lines, receipts, units, lots, product_identifiers, products;
