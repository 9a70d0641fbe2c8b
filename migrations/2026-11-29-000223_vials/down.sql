DROP TABLE vial_draws, vials, drug_facts;
