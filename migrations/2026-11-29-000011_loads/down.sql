DROP TABLE cleanings, cycle_limits, indicators, pack_units, packs, loads, sterilizers;
