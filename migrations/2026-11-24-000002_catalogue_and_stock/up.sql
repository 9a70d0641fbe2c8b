-- Products and their identifiers; lots, units, receipts, movements and stock.

CREATE TABLE products (
    facility_id uuid NOT NULL CONSTRAINT products_facility REFERENCES facilities,
    id uuid CONSTRAINT products_pk PRIMARY KEY,
    name text NOT NULL CONSTRAINT products_name_length CHECK (char_length(name) BETWEEN 1 AND 500),
    maker text NOT NULL CONSTRAINT products_maker_length CHECK (char_length(maker) <= 200),
    model text NOT NULL CONSTRAINT products_model_length CHECK (char_length(model) <= 200),
    kind text NOT NULL CONSTRAINT products_kind_known CHECK (kind IN (
        'handpiece','cannula','needle','gas','drug','diluent','filter','garment','dressing','instrument','equipment','other')),
    use_class text NOT NULL CONSTRAINT products_use_class_known CHECK (use_class IN (
        'single_use','reusable','reprocessed_single_use')),
    carries_lot boolean NOT NULL,
    carries_serial boolean NOT NULL,
    carries_expiry boolean NOT NULL,
    catalogued boolean NOT NULL,
    version integer NOT NULL DEFAULT 1,
    created_at timestamptz NOT NULL
);
COMMENT ON TABLE products IS 'What a label''s device identifier or drug code names, counted in units of use.';
COMMENT ON COLUMN products.catalogued IS 'False for a product met first by a scan or receipt and not yet described.';
CREATE INDEX products_by_facility ON products (facility_id, id);

CREATE TABLE product_identifiers (
    facility_id uuid NOT NULL CONSTRAINT product_identifiers_facility REFERENCES facilities,
    agency text NOT NULL CONSTRAINT product_identifiers_agency_known CHECK (agency IN ('gs1','hibcc','iccbba','ifa','ndc')),
    code text NOT NULL CONSTRAINT product_identifiers_code_length CHECK (char_length(code) BETWEEN 1 AND 50),
    product_id uuid NOT NULL CONSTRAINT product_identifiers_product REFERENCES products,
    level text NOT NULL CONSTRAINT product_identifiers_level_known CHECK (level IN ('unit', 'package')),
    quantity integer NOT NULL CONSTRAINT product_identifiers_quantity_positive CHECK (quantity BETWEEN 1 AND 1000000),
    check_digit_right boolean NOT NULL,
    CONSTRAINT product_identifiers_pk PRIMARY KEY (facility_id, agency, code),
    CONSTRAINT product_identifiers_unit_is_one CHECK (level = 'package' OR quantity = 1)
);
COMMENT ON TABLE product_identifiers IS
    'Every identifier of a product (21 CFR 830.40: one identifier, one product; a product may have several).';
COMMENT ON COLUMN product_identifiers.quantity IS 'Units of use in one package with this identifier.';
CREATE INDEX product_identifiers_by_product ON product_identifiers (product_id);

CREATE TABLE lots (
    facility_id uuid NOT NULL CONSTRAINT lots_facility REFERENCES facilities,
    id uuid CONSTRAINT lots_pk PRIMARY KEY,
    product_id uuid NOT NULL CONSTRAINT lots_product REFERENCES products,
    number text CONSTRAINT lots_number_length CHECK (char_length(number) BETWEEN 1 AND 50),
    expires_on date,
    manufactured_on date,
    created_at timestamptz NOT NULL,
    CONSTRAINT lots_number_once UNIQUE NULLS NOT DISTINCT (product_id, number)
);
COMMENT ON TABLE lots IS 'A product''s lot. The row without a number stands for items whose lot was not recorded.';
COMMENT ON COLUMN lots.number IS 'Exactly as printed: nothing is trimmed or folded, because a notice names the label.';
COMMENT ON COLUMN lots.expires_on IS 'The last usable civil day in the facility''s zone.';
CREATE INDEX lots_by_number ON lots (facility_id, number);
CREATE INDEX lots_by_facility ON lots (facility_id, id);
CREATE INDEX lots_by_expiry ON lots (facility_id, expires_on, id);

CREATE TABLE units (
    facility_id uuid NOT NULL CONSTRAINT units_facility REFERENCES facilities,
    id uuid CONSTRAINT units_pk PRIMARY KEY,
    product_id uuid NOT NULL CONSTRAINT units_product REFERENCES products,
    lot_id uuid NOT NULL CONSTRAINT units_lot REFERENCES lots,
    serial text NOT NULL CONSTRAINT units_serial_length CHECK (char_length(serial) BETWEEN 1 AND 50),
    location_id uuid CONSTRAINT units_location REFERENCES locations,
    CONSTRAINT units_serial_once UNIQUE (product_id, serial)
);
COMMENT ON TABLE units IS 'One serialised piece.';
COMMENT ON COLUMN units.location_id IS 'Where it was put; it is there as long as no case claims it. None: never received.';

CREATE INDEX units_by_lot ON units (lot_id);

CREATE TABLE receipts (
    facility_id uuid NOT NULL CONSTRAINT receipts_facility REFERENCES facilities,
    id uuid CONSTRAINT receipts_pk PRIMARY KEY,
    actor text NOT NULL,
    received_at timestamptz NOT NULL
);
COMMENT ON TABLE receipts IS 'One delivery taken in at the dock.';
CREATE INDEX receipts_by_facility ON receipts (facility_id, id);

CREATE TABLE receipt_lines (
    facility_id uuid NOT NULL CONSTRAINT receipt_lines_facility REFERENCES facilities,
    receipt_id uuid NOT NULL CONSTRAINT receipt_lines_receipt REFERENCES receipts,
    line integer NOT NULL,
    text text,
    product_id uuid NOT NULL CONSTRAINT receipt_lines_product REFERENCES products,
    lot_id uuid NOT NULL CONSTRAINT receipt_lines_lot REFERENCES lots,
    unit_id uuid CONSTRAINT receipt_lines_unit REFERENCES units,
    location_id uuid NOT NULL CONSTRAINT receipt_lines_location REFERENCES locations,
    packages integer NOT NULL CONSTRAINT receipt_lines_packages_positive CHECK (packages BETWEEN 1 AND 1000000),
    quantity integer NOT NULL CONSTRAINT receipt_lines_quantity_range CHECK (quantity BETWEEN 0 AND 100000000),
    findings jsonb NOT NULL,
    CONSTRAINT receipt_lines_pk PRIMARY KEY (receipt_id, line)
);
COMMENT ON TABLE receipt_lines IS 'One label or typed line of a receipt.';
COMMENT ON COLUMN receipt_lines.quantity IS
    'Units of use it added to stock; none for a piece that stood on record already.';
-- With the piece, so that a question by serial finds the lines that name none.
CREATE INDEX receipt_lines_by_lot ON receipt_lines (lot_id, unit_id);
CREATE INDEX receipt_lines_by_unit ON receipt_lines (unit_id) WHERE unit_id IS NOT NULL;

CREATE TABLE shelf_movements (
    facility_id uuid NOT NULL,
    lot_id uuid NOT NULL,
    id uuid NOT NULL,
    unit_id uuid,
    location_id uuid NOT NULL,
    kind text NOT NULL CONSTRAINT shelf_movements_kind_known CHECK (kind IN ('received', 'used', 'returned')),
    quantity integer NOT NULL CONSTRAINT shelf_movements_sign CHECK ((kind = 'used') = (quantity < 0) AND quantity <> 0),
    cause_id uuid NOT NULL,
    at timestamptz NOT NULL,
    CONSTRAINT shelf_movements_pk PRIMARY KEY (lot_id, id)
);
COMMENT ON TABLE shelf_movements IS
    'Every change of stock but the one a use makes when it is taken; never edited. No foreign keys: the recorder holds the rows it names, and none of them can be deleted.';
COMMENT ON COLUMN shelf_movements.cause_id IS 'The receipt or scan that moved it.';

CREATE TABLE stock_levels (
    facility_id uuid NOT NULL,
    lot_id uuid NOT NULL,
    location_id uuid NOT NULL,
    quantity integer NOT NULL CONSTRAINT stock_levels_never_negative CHECK (quantity >= 0),
    CONSTRAINT stock_levels_pk PRIMARY KEY (lot_id, location_id)
) WITH (fillfactor = 50);
COMMENT ON TABLE stock_levels IS 'The sum of the movements by lot and place; free space in each page keeps its updates in place.';
