DROP TABLE adverse_events, facility_statuses, follow_ups, follow_up_rules, case_checks, energy_log, picks, preference_lists;
