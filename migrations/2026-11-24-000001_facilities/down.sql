DROP TABLE locations, stations, token_keys, refresh_tokens, sessions, logins, people, site_policies, facilities;
DROP FUNCTION refuse_change();
DROP FUNCTION current_facility();
