//! The tables as diesel sees them; `migrations/` says why they are so.

diesel::table! {
    access_reviews (id) {
        facility_id -> Uuid,
        id -> Uuid,
        person_id -> Uuid,
        reviewed_by -> Text,
        reviewed_at -> Timestamptz,
        old_roles -> Array<Text>,
        new_roles -> Array<Text>,
        note -> Text,
    }
}

diesel::table! {
    amendments (id) {
        facility_id -> Uuid,
        id -> Uuid,
        case_id -> Uuid,
        part -> Text,
        part_id -> Uuid,
        field -> Nullable<Text>,
        old_value -> Nullable<Text>,
        new_value -> Text,
        reason -> Text,
        record_hash -> Bytea,
        person_id -> Uuid,
        name -> Text,
        meaning -> Text,
        amendment_hash -> Bytea,
        signed_at -> Timestamptz,
        position -> BigInt,
    }
}

diesel::table! {
    answers (request) {
        facility_id -> Uuid,
        request -> Uuid,
        fingerprint -> Bytea,
        status -> SmallInt,
        body -> Bytea,
        etag -> Nullable<Text>,
        at -> Timestamptz,
    }
}

diesel::table! {
    badges (id) {
        facility_id -> Uuid,
        id -> Uuid,
        person_id -> Uuid,
        lookup -> Bytea,
        given_by -> Text,
        given_at -> Timestamptz,
        ended_at -> Nullable<Timestamptz>,
    }
}

diesel::table! {
    cases (id) {
        facility_id -> Uuid,
        id -> Uuid,
        patient_id -> Uuid,
        procedure_name -> Text,
        location_id -> Uuid,
        practitioner_id -> Uuid,
        scheduled_for -> Timestamptz,
        status -> Text,
        started_at -> Nullable<Timestamptz>,
        ended_at -> Nullable<Timestamptz>,
        version -> Integer,
        created_at -> Timestamptz,
    }
}

diesel::table! {
    disclosures (facility_id, position, name) {
        facility_id -> Uuid,
        position -> BigInt,
        name -> Text,
        patient_id -> Uuid,
        sealed -> Bytea,
    }
}

diesel::table! {
    emergency_accesses (id) {
        facility_id -> Uuid,
        id -> Uuid,
        person_id -> Uuid,
        case_id -> Uuid,
        reason -> Text,
        taken_at -> Timestamptz,
        ends_at -> Timestamptz,
        reviewed_by -> Nullable<Text>,
        reviewed_at -> Nullable<Timestamptz>,
        finding -> Nullable<Text>,
    }
}

diesel::table! {
    facilities (id) {
        id -> Uuid,
        name -> Text,
        zone -> Text,
        wrapped_key -> Bytea,
        created_at -> Timestamptz,
    }
}

diesel::table! {
    holds (id) {
        facility_id -> Uuid,
        id -> Uuid,
        scope -> Text,
        product_id -> Uuid,
        lot_id -> Nullable<Uuid>,
        unit_id -> Nullable<Uuid>,
        reason -> Text,
        placed_by -> Text,
        placed_at -> Timestamptz,
        lifted_by -> Nullable<Text>,
        lifted_at -> Nullable<Timestamptz>,
        lift_reason -> Nullable<Text>,
        version -> Integer,
        notice_id -> Nullable<Uuid>,
    }
}

diesel::table! {
    installation (only_row) {
        only_row -> Bool,
        key_check -> Bytea,
        since -> Timestamptz,
    }
}

diesel::table! {
    ledger_entries (facility_id, position) {
        facility_id -> Uuid,
        position -> BigInt,
        at -> Timestamptz,
        action -> Text,
        actor -> Text,
        subject -> Text,
        case_id -> Nullable<Uuid>,
        hash -> Bytea,
        body -> Bytea,
    }
}

diesel::table! {
    ledger_heads (facility_id) {
        facility_id -> Uuid,
        size -> BigInt,
        hash -> Bytea,
        at -> Nullable<Timestamptz>,
    }
}

diesel::table! {
    locations (id) {
        facility_id -> Uuid,
        id -> Uuid,
        name -> Text,
        kind -> Text,
        created_at -> Timestamptz,
    }
}

diesel::table! {
    logins (login) {
        login -> Text,
        facility_id -> Uuid,
        person_id -> Uuid,
    }
}

diesel::table! {
    lots (id) {
        facility_id -> Uuid,
        id -> Uuid,
        product_id -> Uuid,
        number -> Nullable<Text>,
        expires_on -> Nullable<Date>,
        manufactured_on -> Nullable<Date>,
        created_at -> Timestamptz,
    }
}

diesel::table! {
    movements (lot_id, id) {
        facility_id -> Uuid,
        lot_id -> Uuid,
        id -> Uuid,
        unit_id -> Nullable<Uuid>,
        location_id -> Uuid,
        kind -> Text,
        quantity -> Integer,
        cause_id -> Uuid,
        at -> Timestamptz,
    }
}

diesel::table! {
    notice_clearances (id) {
        facility_id -> Uuid,
        id -> Uuid,
        notice_id -> Uuid,
        lot_id -> Nullable<Uuid>,
        unit_id -> Nullable<Uuid>,
        reason -> Text,
        cleared_by -> Text,
        cleared_at -> Timestamptz,
        criteria_count -> Integer,
    }
}

diesel::table! {
    notice_criteria (notice_id, number) {
        facility_id -> Uuid,
        notice_id -> Uuid,
        number -> Integer,
        revision_id -> Uuid,
        body -> Text,
        open -> Bool,
    }
}

diesel::table! {
    notice_events (id) {
        facility_id -> Uuid,
        id -> Uuid,
        notice_id -> Uuid,
        kind -> Text,
        lot_id -> Nullable<Uuid>,
        patient_id -> Nullable<Uuid>,
        body -> Jsonb,
        actor -> Text,
        at -> Timestamptz,
        position -> BigInt,
    }
}

diesel::table! {
    notice_policies (facility_id) {
        facility_id -> Uuid,
        body -> Jsonb,
        version -> Integer,
    }
}

diesel::table! {
    notice_proposals (notice_id, agency, code) {
        facility_id -> Uuid,
        notice_id -> Uuid,
        agency -> Text,
        code -> Text,
    }
}

diesel::table! {
    notice_reminders (task_id, stage, due_at) {
        facility_id -> Uuid,
        task_id -> Uuid,
        stage -> Text,
        due_at -> Timestamptz,
        at -> Timestamptz,
    }
}

diesel::table! {
    mails (id) {
        facility_id -> Uuid,
        id -> Uuid,
        event -> Text,
        message -> Text,
        created_at -> Timestamptz,
        handed_at -> Nullable<Timestamptz>,
    }
}

diesel::table! {
    webhook_messages (id) {
        facility_id -> Uuid,
        id -> Uuid,
        webhook_id -> Uuid,
        event -> Text,
        body -> Text,
        created_at -> Timestamptz,
        state -> Text,
        attempts -> Integer,
        next_at -> Nullable<Timestamptz>,
        last_answer -> Nullable<Text>,
        last_at -> Nullable<Timestamptz>,
        version -> Integer,
    }
}

diesel::table! {
    webhooks (id) {
        facility_id -> Uuid,
        id -> Uuid,
        address -> Text,
        events -> Array<Text>,
        sealed_secret -> Binary,
        added_by -> Text,
        added_at -> Timestamptz,
        ended_by -> Nullable<Text>,
        ended_at -> Nullable<Timestamptz>,
        version -> Integer,
    }
}

diesel::table! {
    notice_tasks (id) {
        facility_id -> Uuid,
        id -> Uuid,
        notice_id -> Uuid,
        kind -> Text,
        owner_id -> Nullable<Uuid>,
        due_at -> Timestamptz,
        state -> Text,
        ended_by -> Nullable<Text>,
        ended_at -> Nullable<Timestamptz>,
        remark -> Nullable<Text>,
        version -> Integer,
    }
}

diesel::table! {
    notices (id) {
        facility_id -> Uuid,
        id -> Uuid,
        root_id -> Uuid,
        revision -> Integer,
        firm -> Text,
        firm_key -> Text,
        reference -> Text,
        reference_key -> Text,
        class -> Nullable<Text>,
        source -> Text,
        status -> Nullable<Text>,
        received_on -> Date,
        product -> Text,
        reason -> Text,
        text -> Text,
        also_named -> Array<Text>,
        digest -> Bytea,
        added_by -> Text,
        added_at -> Timestamptz,
        state -> Text,
        confirmed_by -> Nullable<Text>,
        confirmed_at -> Nullable<Timestamptz>,
        withdrawn_by -> Nullable<Text>,
        withdrawn_at -> Nullable<Timestamptz>,
        terminated_on -> Nullable<Date>,
        end_reason -> Nullable<Text>,
        version -> Integer,
    }
}

diesel::table! {
    pairing_codes (facility_id, hash) {
        facility_id -> Uuid,
        hash -> Bytea,
        station_id -> Uuid,
        made_at -> Timestamptz,
        ends_at -> Timestamptz,
        redeemed_at -> Nullable<Timestamptz>,
    }
}

diesel::table! {
    parcels (facility_id, position) {
        facility_id -> Uuid,
        position -> BigInt,
        attachments -> Bytea,
        with_identity -> Bool,
    }
}

diesel::table! {
    patients (id) {
        facility_id -> Uuid,
        id -> Uuid,
        lookup -> Bytea,
        wrapped_key -> Bytea,
        sealed -> Bytea,
        created_at -> Timestamptz,
    }
}

diesel::table! {
    people (id) {
        facility_id -> Uuid,
        id -> Uuid,
        login -> Text,
        name -> Text,
        roles -> Array<Text>,
        password_hash -> Text,
        ends_at -> Nullable<Timestamptz>,
        version -> Integer,
        created_at -> Timestamptz,
        pin_hash -> Nullable<Text>,
        pin_failures -> Integer,
    }
}

diesel::table! {
    product_identifiers (facility_id, agency, code) {
        facility_id -> Uuid,
        agency -> Text,
        code -> Text,
        product_id -> Uuid,
        level -> Text,
        quantity -> Integer,
        check_digit_right -> Bool,
    }
}

diesel::table! {
    products (id) {
        facility_id -> Uuid,
        id -> Uuid,
        name -> Text,
        maker -> Text,
        model -> Text,
        kind -> Text,
        use_class -> Text,
        carries_lot -> Bool,
        carries_serial -> Bool,
        carries_expiry -> Bool,
        catalogued -> Bool,
        version -> Integer,
        created_at -> Timestamptz,
    }
}

diesel::table! {
    receipt_lines (receipt_id, line) {
        facility_id -> Uuid,
        receipt_id -> Uuid,
        line -> Integer,
        text -> Nullable<Text>,
        product_id -> Uuid,
        lot_id -> Uuid,
        unit_id -> Nullable<Uuid>,
        location_id -> Uuid,
        packages -> Integer,
        quantity -> Integer,
        findings -> Jsonb,
    }
}

diesel::table! {
    receipts (id) {
        facility_id -> Uuid,
        id -> Uuid,
        actor -> Text,
        received_at -> Timestamptz,
    }
}

diesel::table! {
    record_years (id) {
        facility_id -> Uuid,
        id -> Uuid,
        years -> Integer,
        source -> Text,
        decided_by -> Text,
        decided_at -> Timestamptz,
    }
}

diesel::table! {
    refresh_tokens (hash) {
        facility_id -> Uuid,
        hash -> Bytea,
        session_id -> Uuid,
        issued_at -> Timestamptz,
        used_at -> Nullable<Timestamptz>,
    }
}

diesel::table! {
    scans (case_id, id) {
        facility_id -> Uuid,
        case_id -> Uuid,
        id -> Uuid,
        station_id -> Nullable<Uuid>,
        actor -> Text,
        occurred_at -> Timestamptz,
        received_at -> Timestamptz,
        symbology -> Nullable<Text>,
        text -> Nullable<Text>,
        form -> Nullable<Text>,
        verdict -> Text,
        findings -> Jsonb,
        product_id -> Nullable<Uuid>,
        lot_id -> Nullable<Uuid>,
        unit_id -> Nullable<Uuid>,
        first_scan_id -> Nullable<Uuid>,
        position -> BigInt,
        held_session_id -> Nullable<Uuid>,
    }
}

diesel::table! {
    sessions (id) {
        facility_id -> Uuid,
        id -> Uuid,
        person_id -> Uuid,
        created_at -> Timestamptz,
        expires_at -> Timestamptz,
        revoked_at -> Nullable<Timestamptz>,
        station_id -> Nullable<Uuid>,
    }
}

diesel::table! {
    shelf_adjustments (count_id, line) {
        facility_id -> Uuid,
        count_id -> Uuid,
        line -> Integer,
        actor -> Text,
        reason -> Text,
        adjusted_at -> Timestamptz,
    }
}

diesel::table! {
    shelf_count_lines (count_id, line) {
        facility_id -> Uuid,
        count_id -> Uuid,
        line -> Integer,
        lot_id -> Uuid,
        unit_id -> Nullable<Uuid>,
        expected -> Integer,
        counted -> Integer,
    }
}

diesel::table! {
    shelf_counts (id) {
        facility_id -> Uuid,
        id -> Uuid,
        location_id -> Uuid,
        actor -> Text,
        counted_at -> Timestamptz,
    }
}

diesel::table! {
    shelf_movements (lot_id, id) {
        facility_id -> Uuid,
        lot_id -> Uuid,
        id -> Uuid,
        unit_id -> Nullable<Uuid>,
        location_id -> Uuid,
        kind -> Text,
        quantity -> Integer,
        cause_id -> Uuid,
        at -> Timestamptz,
    }
}

diesel::table! {
    signatures (id) {
        facility_id -> Uuid,
        id -> Uuid,
        case_id -> Uuid,
        person_id -> Uuid,
        name -> Text,
        meaning -> Text,
        record_hash -> Bytea,
        signed_at -> Timestamptz,
        position -> BigInt,
        record_version -> SmallInt,
    }
}

diesel::table! {
    site_policies (facility_id) {
        facility_id -> Uuid,
        expires_soon_days -> Integer,
        short_dated_days -> Integer,
        keeps_stock -> Bool,
        idle_lock_minutes -> Integer,
        due_equipment_stops -> Bool,
        clock_skew_seconds -> Integer,
        version -> Integer,
    }
}

diesel::table! {
    station_credentials (hash) {
        facility_id -> Uuid,
        hash -> Bytea,
        station_id -> Uuid,
        paired_at -> Timestamptz,
        ended_at -> Nullable<Timestamptz>,
    }
}

diesel::table! {
    stations (id) {
        facility_id -> Uuid,
        id -> Uuid,
        name -> Text,
        created_at -> Timestamptz,
        separator -> Text,
        version -> Integer,
    }
}

diesel::table! {
    stock_levels (lot_id, location_id) {
        facility_id -> Uuid,
        lot_id -> Uuid,
        location_id -> Uuid,
        quantity -> Integer,
    }
}

diesel::table! {
    strikes (scan_id) {
        facility_id -> Uuid,
        scan_id -> Uuid,
        case_id -> Uuid,
        actor -> Text,
        reason -> Text,
        struck_at -> Timestamptz,
    }
}

diesel::table! {
    task_settlements (scan_id) {
        facility_id -> Uuid,
        scan_id -> Uuid,
        settled_by -> Text,
        settled_at -> Timestamptz,
        note -> Text,
    }
}

diesel::table! {
    token_keys (kid) {
        kid -> Text,
        public_key -> Bytea,
        sealed_private_key -> Bytea,
        created_at -> Timestamptz,
    }
}

diesel::table! {
    units (id) {
        facility_id -> Uuid,
        id -> Uuid,
        product_id -> Uuid,
        lot_id -> Uuid,
        serial -> Text,
        location_id -> Nullable<Uuid>,
    }
}

diesel::table! {
    uses (lot_id, scan_id) {
        facility_id -> Uuid,
        scan_id -> Uuid,
        case_id -> Uuid,
        product_id -> Uuid,
        lot_id -> Uuid,
        unit_id -> Nullable<Uuid>,
        drawn_from -> Nullable<Uuid>,
        disposition -> Text,
        disposition_reason -> Nullable<Text>,
        taken_at -> Timestamptz,
        struck_at -> Nullable<Timestamptz>,
        version -> Integer,
        claims_unit -> Bool,
        other_lot_id -> Nullable<Uuid>,
    }
}

diesel::table! {
    cylinders (id) {
        facility_id -> Uuid,
        id -> Uuid,
        product_id -> Uuid,
        lot_id -> Uuid,
        unit_id -> Nullable<Uuid>,
        gas -> Text,
        name_read_back -> Nullable<Text>,
        filled_on -> Date,
        water_volume_litre -> Numeric,
        service_psi -> Numeric,
        plus_mark -> Bool,
        retest_month -> Date,
        star_mark -> Bool,
        gauge_accuracy_percent -> Numeric,
        gauge_full_scale_psi -> Numeric,
        reserve_psi -> Numeric,
        expected_litre -> Nullable<Numeric>,
        opened_at -> Nullable<Timestamptz>,
        version -> Integer,
        created_at -> Timestamptz,
    }
}

diesel::table! {
    mix_doses (id) {
        facility_id -> Uuid,
        id -> Uuid,
        mix_id -> Uuid,
        zone -> Text,
        volume_ml -> Numeric,
        verdict -> Text,
        findings -> Jsonb,
        actor -> Text,
        at -> Timestamptz,
    }
}

diesel::table! {
    mix_ingredients (mix_id, line) {
        facility_id -> Uuid,
        mix_id -> Uuid,
        line -> Integer,
        scan_id -> Uuid,
        product_id -> Uuid,
        lot_id -> Uuid,
        unit_id -> Nullable<Uuid>,
        volume_ml -> Numeric,
        last_day -> Nullable<Date>,
        strengths -> Jsonb,
    }
}

diesel::table! {
    mixes (id) {
        facility_id -> Uuid,
        id -> Uuid,
        case_id -> Uuid,
        name -> Text,
        written_order -> Text,
        order_hash -> Bytea,
        sealed_weight -> Bytea,
        use_within_minutes -> Integer,
        use_by_source -> Text,
        ordered_by -> Uuid,
        ordered_at -> Timestamptz,
        made_by -> Nullable<Uuid>,
        started_at -> Nullable<Timestamptz>,
        made_at -> Nullable<Timestamptz>,
        use_by -> Nullable<Timestamptz>,
        checked_by -> Nullable<Uuid>,
        checked_at -> Nullable<Timestamptz>,
        discarded_ml -> Nullable<Numeric>,
        left_ml -> Nullable<Numeric>,
        explanation -> Nullable<Text>,
        closed_by -> Nullable<Text>,
        closed_at -> Nullable<Timestamptz>,
        version -> Integer,
    }
}

diesel::table! {
    cleanings (id) {
        facility_id -> Uuid,
        id -> Uuid,
        unit_id -> Uuid,
        flushed -> Bool,
        brush -> Text,
        inspected -> Bool,
        remark -> Nullable<Text>,
        actor -> Text,
        at -> Timestamptz,
    }
}

diesel::table! {
    cycle_limits (product_id) {
        facility_id -> Uuid,
        product_id -> Uuid,
        most -> Nullable<Integer>,
        source -> Text,
    }
}

diesel::table! {
    indicators (id) {
        facility_id -> Uuid,
        id -> Uuid,
        load_id -> Uuid,
        kind -> Text,
        result -> Text,
        is_repeat -> Bool,
        actor -> Text,
        at -> Timestamptz,
    }
}

diesel::table! {
    loads (id) {
        facility_id -> Uuid,
        id -> Uuid,
        sterilizer_id -> Uuid,
        cycle -> Text,
        kind -> Text,
        case_id -> Nullable<Uuid>,
        reason -> Nullable<Text>,
        started_at -> Timestamptz,
        exposure_minutes -> Numeric,
        exposure_celsius -> Numeric,
        operator -> Text,
        released_by -> Nullable<Text>,
        released_at -> Nullable<Timestamptz>,
        held_at -> Nullable<Timestamptz>,
        held_reason -> Nullable<Text>,
        version -> Integer,
        created_at -> Timestamptz,
    }
}

diesel::table! {
    pack_units (pack_id, unit_id) {
        facility_id -> Uuid,
        pack_id -> Uuid,
        unit_id -> Uuid,
        cycle -> Integer,
    }
}

diesel::table! {
    packs (id) {
        facility_id -> Uuid,
        id -> Uuid,
        load_id -> Uuid,
        label -> Text,
        name -> Text,
        implant -> Bool,
    }
}

diesel::table! {
    sterilizers (id) {
        facility_id -> Uuid,
        id -> Uuid,
        name -> Text,
        positive_policy -> Text,
        out_of_service_since -> Nullable<Timestamptz>,
        version -> Integer,
        created_at -> Timestamptz,
    }
}

diesel::table! {
    adverse_events (id) {
        facility_id -> Uuid,
        id -> Uuid,
        case_id -> Uuid,
        event -> Text,
        happened_on -> Date,
        aware_on -> Date,
        device_scan_id -> Nullable<Uuid>,
        manufacturer -> Nullable<Text>,
        patient_problem_code -> Nullable<Text>,
        device_problem_code -> Nullable<Text>,
        deliberation -> Text,
        status -> Nullable<Text>,
        actor -> Text,
        at -> Timestamptz,
    }
}

diesel::table! {
    case_checks (id) {
        facility_id -> Uuid,
        id -> Uuid,
        case_id -> Uuid,
        kind -> Text,
        lines -> Jsonb,
        recorded_by -> Uuid,
        recorded_at -> Timestamptz,
        confirmed_by -> Nullable<Uuid>,
        confirmed_at -> Nullable<Timestamptz>,
    }
}

diesel::table! {
    energy_limits (id) {
        facility_id -> Uuid,
        id -> Uuid,
        value -> Text,
        zone -> Nullable<Text>,
        thermometer_type -> Nullable<Text>,
        least -> Nullable<Numeric>,
        most -> Nullable<Numeric>,
        source -> Text,
        created_at -> Timestamptz,
        ended_at -> Nullable<Timestamptz>,
        end_reason -> Nullable<Text>,
    }
}

diesel::table! {
    energy_log (id) {
        facility_id -> Uuid,
        id -> Uuid,
        case_id -> Uuid,
        zone -> Text,
        handpiece_scan_id -> Uuid,
        generator -> Text,
        power_percent -> Numeric,
        litre_per_minute -> Nullable<Numeric>,
        passes -> Integer,
        active_seconds -> Numeric,
        max_skin_celsius -> Nullable<Numeric>,
        instrument -> Nullable<Text>,
        notes -> Nullable<Text>,
        actor -> Text,
        at -> Timestamptz,
        generator_id -> Nullable<Uuid>,
        instrument_id -> Nullable<Uuid>,
        emissivity -> Nullable<Numeric>,
        distance_cm -> Nullable<Numeric>,
    }
}

diesel::table! {
    equipment (id) {
        facility_id -> Uuid,
        id -> Uuid,
        asset_number -> Text,
        kind -> Text,
        thermometer_type -> Nullable<Text>,
        name -> Text,
        serial -> Nullable<Text>,
        label -> Nullable<Text>,
        location_id -> Nullable<Uuid>,
        out_of_service_since -> Nullable<Timestamptz>,
        out_of_service_reason -> Nullable<Text>,
        version -> Integer,
        created_at -> Timestamptz,
    }
}

diesel::table! {
    equipment_services (id) {
        facility_id -> Uuid,
        id -> Uuid,
        equipment_id -> Uuid,
        kind -> Text,
        done_on -> Date,
        due_on -> Date,
        done_by -> Text,
        certificate -> Nullable<Text>,
        as_found -> Nullable<Text>,
        actor -> Text,
        at -> Timestamptz,
    }
}

diesel::table! {
    equipment_filters (id) {
        facility_id -> Uuid,
        id -> Uuid,
        equipment_id -> Uuid,
        filter -> Text,
        life_hours -> Nullable<Numeric>,
        life_cases -> Nullable<Integer>,
        case_hours -> Nullable<Numeric>,
        actor -> Text,
        at -> Timestamptz,
    }
}

diesel::table! {
    equipment_uses (id) {
        facility_id -> Uuid,
        id -> Uuid,
        equipment_id -> Uuid,
        case_id -> Uuid,
        scanned -> Bool,
        verdict -> Text,
        findings -> Jsonb,
        actor -> Text,
        at -> Timestamptz,
        struck_at -> Nullable<Timestamptz>,
        struck_reason -> Nullable<Text>,
    }
}

diesel::table! {
    equipment_runs (id) {
        facility_id -> Uuid,
        id -> Uuid,
        equipment_id -> Uuid,
        case_id -> Uuid,
        minutes -> Numeric,
        actor -> Text,
        at -> Timestamptz,
    }
}

diesel::table! {
    routines (id) {
        facility_id -> Uuid,
        id -> Uuid,
        name -> Text,
        location_id -> Nullable<Uuid>,
        every -> Text,
        two_people -> Bool,
        asked -> Jsonb,
        source -> Text,
        starts_on -> Date,
        ended_on -> Nullable<Date>,
        end_reason -> Nullable<Text>,
        created_at -> Timestamptz,
    }
}

diesel::table! {
    routine_records (id) {
        facility_id -> Uuid,
        id -> Uuid,
        routine_id -> Uuid,
        done_at -> Timestamptz,
        done_on -> Date,
        late -> Bool,
        found -> Jsonb,
        out_of_limits -> Bool,
        action -> Nullable<Text>,
        recorded_by -> Uuid,
        recorded_at -> Timestamptz,
        confirmed_by -> Nullable<Uuid>,
        confirmed_at -> Nullable<Timestamptz>,
    }
}

diesel::table! {
    drug_facts (product_id) {
        facility_id -> Uuid,
        product_id -> Uuid,
        volume_ml -> Nullable<Numeric>,
        in_use_days -> Nullable<Integer>,
        strengths -> Jsonb,
        source -> Text,
    }
}

diesel::table! {
    vials (id) {
        facility_id -> Uuid,
        id -> Uuid,
        product_id -> Uuid,
        lot_id -> Uuid,
        unit_id -> Nullable<Uuid>,
        name -> Text,
        punctured_on -> Date,
        last_day -> Date,
        volume_ml -> Numeric,
        opened_by -> Text,
        opened_at -> Timestamptz,
        discarded_at -> Nullable<Timestamptz>,
        discard_reason -> Nullable<Text>,
    }
}

diesel::table! {
    vial_draws (id) {
        facility_id -> Uuid,
        id -> Uuid,
        vial_id -> Uuid,
        mix_id -> Uuid,
        volume_ml -> Numeric,
        actor -> Text,
        at -> Timestamptz,
    }
}

diesel::table! {
    facility_statuses (id) {
        facility_id -> Uuid,
        id -> Uuid,
        status -> Text,
        reason -> Text,
        decided_by -> Text,
        decided_at -> Timestamptz,
    }
}

diesel::table! {
    follow_up_rules (id) {
        facility_id -> Uuid,
        id -> Uuid,
        name -> Text,
        days -> Integer,
        source -> Text,
        created_at -> Timestamptz,
    }
}

diesel::table! {
    follow_ups (case_id, rule_id) {
        facility_id -> Uuid,
        case_id -> Uuid,
        rule_id -> Uuid,
        done_on -> Date,
        outcome -> Text,
        actor -> Text,
        at -> Timestamptz,
    }
}

diesel::table! {
    picks (id) {
        facility_id -> Uuid,
        id -> Uuid,
        case_id -> Uuid,
        lot_id -> Uuid,
        kind -> Text,
        quantity -> Integer,
        actor -> Text,
        at -> Timestamptz,
    }
}

diesel::table! {
    preference_lists (id) {
        facility_id -> Uuid,
        id -> Uuid,
        procedure_name -> Text,
        practitioner_id -> Nullable<Uuid>,
        items -> Jsonb,
        created_at -> Timestamptz,
        kinds -> Jsonb,
        equipment -> Jsonb,
    }
}

diesel::table! {
    gas_uses (id) {
        facility_id -> Uuid,
        id -> Uuid,
        cylinder_id -> Uuid,
        case_id -> Uuid,
        zone -> Text,
        litre_per_minute -> Numeric,
        minutes -> Numeric,
        actor -> Text,
        at -> Timestamptz,
    }
}

diesel::table! {
    gauge_readings (id) {
        facility_id -> Uuid,
        id -> Uuid,
        cylinder_id -> Uuid,
        gauge_psi -> Numeric,
        celsius -> Numeric,
        litre_per_minute -> Nullable<Numeric>,
        actor -> Text,
        at -> Timestamptz,
    }
}

diesel::allow_tables_to_appear_in_same_query!(
    access_reviews,
    adverse_events,
    amendments,
    answers,
    badges,
    case_checks,
    cases,
    cleanings,
    cycle_limits,
    cylinders,
    disclosures,
    drug_facts,
    emergency_accesses,
    energy_log,
    equipment,
    equipment_filters,
    equipment_runs,
    equipment_services,
    equipment_uses,
    facilities,
    facility_statuses,
    follow_up_rules,
    follow_ups,
    gas_uses,
    gauge_readings,
    holds,
    installation,
    indicators,
    ledger_entries,
    ledger_heads,
    loads,
    locations,
    logins,
    lots,
    mix_doses,
    mix_ingredients,
    mixes,
    movements,
    pack_units,
    packs,
    notice_clearances,
    notice_criteria,
    notice_events,
    notice_policies,
    notice_proposals,
    notice_reminders,
    notice_tasks,
    mails,
    webhook_messages,
    webhooks,
    notices,
    pairing_codes,
    parcels,
    patients,
    people,
    picks,
    preference_lists,
    product_identifiers,
    products,
    receipt_lines,
    receipts,
    record_years,
    refresh_tokens,
    routine_records,
    routines,
    scans,
    sessions,
    shelf_adjustments,
    shelf_count_lines,
    shelf_counts,
    shelf_movements,
    signatures,
    site_policies,
    station_credentials,
    stations,
    sterilizers,
    stock_levels,
    strikes,
    task_settlements,
    token_keys,
    units,
    uses,
    vial_draws,
    vials,
);
