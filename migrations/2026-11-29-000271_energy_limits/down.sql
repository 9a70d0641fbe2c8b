DROP TABLE energy_limits;
