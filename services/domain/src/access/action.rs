//! Every operation a person can ask for, with the roles that may.

use super::Role::{
    self, Administrator, Circulator, Compliance, Inspector, Integration, Materials, Practitioner,
};
use std::fmt::Write;

/// A marker type for one action; the type parameter of [`super::Grant`].
pub trait Permission: Send + Sync + 'static {
    /// The action the marker stands for.
    const ACTION: Action;
}

macro_rules! actions {
    ($($(#[$meta:meta])* $name:ident = $text:literal: [$($role:ident),* $(,)?],)+) => {
        /// An operation; its written form is the `operationId` and the ledger's action.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
        pub enum Action { $($(#[$meta])* $name,)+ }

        impl Action {
            /// Every action, in the order of the policy table.
            pub const ALL: &'static [Self] = &[$(Self::$name,)+];

            /// The written form.
            #[must_use]
            pub const fn as_str(self) -> &'static str {
                match self { $(Self::$name => $text,)+ }
            }

            /// Whether emergency access to a case gives it, in that case and until it ends.
            #[must_use]
            pub const fn in_emergency(self) -> bool {
                matches!(
                    self,
                    Self::ShowCase
                        | Self::ShowPatient
                        | Self::StartCase
                        | Self::CompleteCase
                        | Self::CancelCase
                        | Self::RecordScan
                        | Self::ListScans
                        | Self::ShowScan
                        | Self::StrikeScan
                        | Self::SetDisposition
                )
            }

            /// The roles that may do it.
            #[must_use]
            pub const fn roles(self) -> &'static [Role] {
                match self { $(Self::$name => &[$($role),*],)+ }
            }
        }

        /// One marker type per action.
        pub mod act {
            $(
                $(#[$meta])*
                #[derive(Clone, Copy, Debug)]
                pub struct $name;
                impl super::Permission for $name {
                    const ACTION: super::Action = super::Action::$name;
                }
            )+
        }
    };
}

actions! {
    /// Signs in; open to everybody, the credentials decide.
    SignIn = "sign_in": [Circulator, Practitioner, Materials, Compliance, Administrator, Inspector, Integration],
    /// Renews a session; open to everybody, the refresh token decides.
    RefreshSession = "refresh_session": [Circulator, Practitioner, Materials, Compliance, Administrator, Inspector, Integration],
    /// Ends the caller's session.
    SignOut = "sign_out": [Circulator, Practitioner, Materials, Compliance, Administrator, Inspector, Integration],
    /// Shows who the caller is.
    ShowSession = "show_session": [Circulator, Practitioner, Materials, Compliance, Administrator, Inspector, Integration],
    /// Lists the caller's open sessions.
    ListSessions = "list_sessions": [Circulator, Practitioner, Materials, Compliance, Administrator, Inspector, Integration],
    /// Ends one of the caller's sessions.
    RevokeSession = "revoke_session": [Circulator, Practitioner, Materials, Compliance, Administrator, Inspector, Integration],
    /// Ends the caller's sessions but the one that asks.
    RevokeSessions = "revoke_sessions": [Circulator, Practitioner, Materials, Compliance, Administrator, Inspector, Integration],
    /// Changes the caller's password.
    ChangePassword = "change_password": [Circulator, Practitioner, Materials, Compliance, Administrator, Inspector, Integration],
    /// Gives a person another password.
    ResetPassword = "reset_password": [Administrator],
    /// Lists a person's open sessions.
    ListPersonSessions = "list_person_sessions": [Compliance, Administrator],
    /// Ends sessions of a person.
    RevokePersonSessions = "revoke_person_sessions": [Compliance, Administrator],
    /// Lists people and their roles.
    ListPeople = "list_people": [Compliance, Administrator, Inspector],
    /// Lists the practitioners a case can be opened for.
    ListPractitioners = "list_practitioners": [Circulator, Practitioner, Compliance, Administrator, Integration],
    /// Lists who can witness what is destroyed.
    ListWitnesses = "list_witnesses": [Materials, Compliance],
    /// Adds a person.
    AddPerson = "add_person": [Administrator],
    /// Changes a person's roles, or ends the account.
    ChangePerson = "change_person": [Administrator],
    /// Shows the role and action table and the site's settings for the rules.
    ShowPolicy = "show_policy": [Circulator, Practitioner, Materials, Compliance, Administrator, Inspector, Integration],
    /// Changes the site's settings for the rules.
    ChangePolicy = "change_policy": [Compliance],
    /// Lists stations.
    ListStations = "list_stations": [Circulator, Practitioner, Materials, Compliance, Administrator, Inspector, Integration],
    /// Adds a station.
    AddStation = "add_station": [Administrator],
    /// Makes a code that pairs a station once.
    MakePairingCode = "make_pairing_code": [Administrator],
    /// Pairs a station; open to everybody, the code decides.
    PairStation = "pair_station": [Circulator, Practitioner, Materials, Compliance, Administrator, Inspector, Integration],
    /// Takes a station's credential back.
    UnpairStation = "unpair_station": [Administrator],
    /// Shows a paired station to itself; its credential decides.
    ShowStation = "show_station": [Circulator, Practitioner, Materials, Compliance, Administrator, Inspector, Integration],
    /// Signs in by badge and PIN at a paired station; badge and PIN decide.
    BadgeIn = "badge_in": [Circulator, Practitioner, Materials, Compliance, Administrator, Inspector, Integration],
    /// Lets somebody in at a paired station whose PIN is held back; badge and PIN of another person decide.
    VouchIn = "vouch_in": [Circulator, Practitioner, Materials, Compliance, Administrator],
    /// Gives a person a badge; the former one ends.
    GiveBadge = "give_badge": [Administrator],
    /// Ends a person's badge.
    EndBadge = "end_badge": [Administrator, Compliance],
    /// Sets the caller's PIN.
    SetPin = "set_pin": [Circulator, Practitioner, Materials, Compliance, Administrator],
    /// Delivers scans that a paired station held; its credential decides.
    DeliverHeldScans = "deliver_held_scans": [Circulator, Practitioner],
    /// Lists what waits for a person.
    ListTasks = "list_tasks": [Circulator, Practitioner, Materials, Compliance, Inspector],
    /// Settles a held scan that turned out to be a stop.
    SettleTask = "settle_task": [Circulator, Practitioner, Materials, Compliance],
    /// Takes access to a case at once; compliance reviews it.
    TakeEmergencyAccess = "take_emergency_access": [Circulator, Practitioner, Materials, Compliance, Administrator],
    /// Reviews an emergency access of somebody else.
    ReviewEmergencyAccess = "review_emergency_access": [Compliance],
    /// Lists who holds what, for a review.
    ListAccess = "list_access": [Compliance, Administrator, Inspector],
    /// Reviews what somebody else holds.
    ReviewAccess = "review_access": [Compliance],
    /// Changes a station's name or what its scanner sends.
    ChangeStation = "change_station": [Administrator],
    /// Checks what a station made of its test page.
    CheckStation = "check_station": [Circulator, Practitioner, Materials, Compliance, Administrator, Inspector, Integration],
    /// Lists places.
    ListLocations = "list_locations": [Circulator, Practitioner, Materials, Compliance, Administrator, Inspector, Integration],
    /// Adds a place.
    AddLocation = "add_location": [Materials, Administrator],
    /// Gives a place's label.
    ShowLabel = "show_label": [Circulator, Practitioner, Materials, Administrator],
    /// Gives the labels of all places.
    ShowLabels = "show_labels": [Circulator, Practitioner, Materials, Administrator],
    /// Lists products.
    ListProducts = "list_products": [Circulator, Practitioner, Materials, Compliance, Administrator, Inspector, Integration],
    /// Shows a product.
    ShowProduct = "show_product": [Circulator, Practitioner, Materials, Compliance, Administrator, Inspector, Integration],
    /// Adds a product.
    AddProduct = "add_product": [Materials, Integration],
    /// Changes a product.
    ChangeProduct = "change_product": [Materials, Integration],
    /// Gives a product a further identifier.
    AddIdentifier = "add_identifier": [Materials, Integration],
    /// Reads a label without recording it.
    ReadLabel = "read_label": [Circulator, Practitioner, Materials, Compliance, Administrator, Inspector, Integration],
    /// Receives stock.
    RecordReceipt = "record_receipt": [Materials, Integration],
    /// Lists receipts.
    ListReceipts = "list_receipts": [Materials, Compliance, Inspector, Integration],
    /// Shows a receipt.
    ShowReceipt = "show_receipt": [Materials, Compliance, Inspector, Integration],
    /// Lists stock by place.
    ListStock = "list_stock": [Circulator, Practitioner, Materials, Compliance, Administrator, Inspector, Integration],
    /// Moves stock to another place.
    MoveStock = "move_stock": [Circulator, Materials],
    /// Gives what is on record at a place, to count against.
    ShowCountSheet = "show_count_sheet": [Circulator, Materials, Compliance, Inspector],
    /// Puts on record what was counted at a place.
    CountShelf = "count_shelf": [Circulator, Materials],
    /// Lists counts of places.
    ListShelfCounts = "list_shelf_counts": [Circulator, Materials, Compliance, Inspector],
    /// Shows a count of a place with its differences.
    ShowShelfCount = "show_shelf_count": [Circulator, Materials, Compliance, Inspector],
    /// Takes differences of a count into the record.
    AdjustStock = "adjust_stock": [Materials],
    /// Takes what expires off the shelf.
    SweepStock = "sweep_stock": [Materials],
    /// Lists lots.
    ListLots = "list_lots": [Circulator, Practitioner, Materials, Compliance, Administrator, Inspector, Integration],
    /// Shows a lot.
    ShowLot = "show_lot": [Circulator, Practitioner, Materials, Compliance, Administrator, Inspector, Integration],
    /// Opens a case.
    OpenCase = "open_case": [Circulator, Practitioner, Integration],
    /// Lists cases, without patient identity.
    ListCases = "list_cases": [Circulator, Practitioner, Materials, Compliance, Inspector],
    /// Shows a case with its scans and uses, without patient identity.
    ShowCase = "show_case": [Circulator, Practitioner, Materials, Compliance, Inspector],
    /// Shows the patient of a case; each look is a ledger entry.
    ShowPatient = "show_patient": [Circulator, Practitioner, Compliance, Inspector],
    /// Shows the record of a case as it is hashed, without patient identity.
    ShowRecord = "show_record": [Circulator, Practitioner, Compliance, Inspector],
    /// Shows what went into a case, back to receipt, without patient identity.
    ShowSources = "show_sources": [Circulator, Practitioner, Materials, Compliance, Inspector],
    /// Starts a case.
    StartCase = "start_case": [Circulator, Practitioner],
    /// Completes a case.
    CompleteCase = "complete_case": [Circulator, Practitioner],
    /// Ends a case that did not take place.
    CancelCase = "cancel_case": [Circulator, Practitioner],
    /// Signs a case.
    SignCase = "sign_case": [Practitioner],
    /// Corrects a signed case; the signed record stays as it is.
    AmendCase = "amend_case": [Circulator, Practitioner],
    /// Records a scan on a case.
    RecordScan = "record_scan": [Circulator, Practitioner],
    /// Lists the scans of a case.
    ListScans = "list_scans": [Circulator, Practitioner, Materials, Compliance, Inspector],
    /// Shows a scan.
    ShowScan = "show_scan": [Circulator, Practitioner, Materials, Compliance, Inspector],
    /// Takes a scan back.
    StrikeScan = "strike_scan": [Circulator, Practitioner],
    /// Says what became of a used item.
    SetDisposition = "set_disposition": [Circulator, Practitioner],
    /// Places a hold.
    PlaceHold = "place_hold": [Circulator, Practitioner, Materials, Compliance],
    /// Lists holds.
    ListHolds = "list_holds": [Circulator, Practitioner, Materials, Compliance, Administrator, Inspector, Integration],
    /// Shows a hold.
    ShowHold = "show_hold": [Circulator, Practitioner, Materials, Compliance, Administrator, Inspector, Integration],
    /// Lifts a hold.
    LiftHold = "lift_hold": [Materials, Compliance],
    /// Puts a fill of a gas cylinder on record.
    AddCylinder = "add_cylinder": [Materials],
    /// Lists gas cylinders.
    ListCylinders = "list_cylinders": [Circulator, Practitioner, Materials, Compliance, Administrator, Inspector, Integration],
    /// Shows a gas cylinder.
    ShowCylinder = "show_cylinder": [Circulator, Practitioner, Materials, Compliance, Administrator, Inspector, Integration],
    /// Gives the label of a cylinder.
    ShowCylinderLabel = "show_cylinder_label": [Circulator, Practitioner, Materials],
    /// Records what a cylinder's gauge shows.
    RecordGauge = "record_gauge": [Circulator, Practitioner, Materials],
    /// Records gas by flow and time on a case.
    RecordGasUse = "record_gas_use": [Circulator, Practitioner],
    /// Signs the order of a mix.
    OrderMix = "order_mix": [Practitioner],
    /// Lists mixes, without weights.
    ListMixes = "list_mixes": [Circulator, Practitioner, Materials, Compliance, Inspector],
    /// Shows a mix, without the weight.
    ShowMix = "show_mix": [Circulator, Practitioner, Materials, Compliance, Inspector],
    /// Puts on record that a mix was made.
    MakeMix = "make_mix": [Circulator, Practitioner],
    /// Puts on record that a second person checked a mix.
    CheckMix = "check_mix": [Circulator, Practitioner],
    /// Gives the label of a mix.
    ShowMixLabel = "show_mix_label": [Circulator, Practitioner],
    /// Puts on record that a volume of a mix is given.
    GiveDose = "give_dose": [Circulator, Practitioner],
    /// Accounts for the rest of a mix.
    CloseMix = "close_mix": [Circulator, Practitioner],
    /// Shows amounts beside the patient's weight; each look is a ledger entry.
    ShowAmounts = "show_amounts": [Circulator, Practitioner, Compliance, Inspector],
    /// Says what the label of a drug prints.
    DescribeDrug = "describe_drug": [Practitioner, Materials],
    /// Lists the drugs that somebody described.
    ListDrugs = "list_drugs": [Circulator, Practitioner, Materials, Compliance, Inspector],
    /// Puts the first puncture of a multi-dose vial on record.
    OpenVial = "open_vial": [Circulator, Practitioner],
    /// Lists multi-dose vials.
    ListVials = "list_vials": [Circulator, Practitioner, Materials, Compliance, Inspector],
    /// Discards a multi-dose vial.
    DiscardVial = "discard_vial": [Circulator, Practitioner, Materials],
    /// Adds a sterilizer with its policy after a positive indicator.
    AddSterilizer = "add_sterilizer": [Materials, Compliance],
    /// Lists sterilizers.
    ListSterilizers = "list_sterilizers": [Circulator, Practitioner, Materials, Compliance, Administrator, Inspector, Integration],
    /// Returns a sterilizer to service.
    ReturnSterilizer = "return_sterilizer": [Materials, Compliance],
    /// Says that the site sterilizes a reusable product, and how often.
    SetCycleLimit = "set_cycle_limit": [Materials, Compliance],
    /// Records the cleaning of a reusable piece.
    RecordCleaning = "record_cleaning": [Circulator, Materials],
    /// Puts a sterilizer load on record.
    RecordLoad = "record_load": [Circulator, Materials],
    /// Lists loads.
    ListLoads = "list_loads": [Circulator, Practitioner, Materials, Compliance, Inspector],
    /// Shows a load with the cases it reached, without patient identity.
    ShowLoad = "show_load": [Circulator, Practitioner, Materials, Compliance, Inspector],
    /// Records what an indicator of a load showed.
    RecordIndicator = "record_indicator": [Circulator, Materials],
    /// Releases a load.
    ReleaseLoad = "release_load": [Circulator, Materials],
    /// Lifts the hold of a load by a person's decision.
    ClearLoad = "clear_load": [Compliance],
    /// Puts a piece of equipment on record.
    AddEquipment = "add_equipment": [Materials, Compliance],
    /// Lists equipment with what is due.
    ListEquipment = "list_equipment": [Circulator, Practitioner, Materials, Compliance, Administrator, Inspector, Integration],
    /// Shows a piece of equipment.
    ShowEquipment = "show_equipment": [Circulator, Practitioner, Materials, Compliance, Administrator, Inspector, Integration],
    /// Changes name, label and place of a piece of equipment.
    ChangeEquipment = "change_equipment": [Materials, Compliance],
    /// Records maintenance or calibration.
    RecordService = "record_service": [Materials, Compliance],
    /// Takes a piece of equipment out of service.
    TakeOutOfService = "take_out_of_service": [Circulator, Practitioner, Materials, Compliance],
    /// Returns a piece of equipment to service.
    ReturnEquipment = "return_equipment": [Materials, Compliance],
    /// Puts a fresh filter into a piece of equipment.
    ChangeFilter = "change_filter": [Circulator, Materials],
    /// Sets equipment up on a case.
    UseEquipment = "use_equipment": [Circulator, Practitioner],
    /// Takes equipment back from a case.
    StrikeEquipment = "strike_equipment": [Circulator, Practitioner],
    /// Lists the equipment of a case.
    ListCaseEquipment = "list_case_equipment": [Circulator, Practitioner, Materials, Compliance, Inspector],
    /// Records how long equipment ran on a case.
    RecordRun = "record_run": [Circulator, Practitioner],
    /// Answers which cases and patients had a piece of equipment; each answer is a ledger entry.
    ShowEquipmentCases = "show_equipment_cases": [Practitioner, Materials, Compliance, Inspector],
    /// Adds a routine check to the site's list.
    AddRoutine = "add_routine": [Materials, Compliance],
    /// Ends a routine check.
    EndRoutine = "end_routine": [Materials, Compliance],
    /// Lists routine checks with what is due and what was missed.
    ListRoutines = "list_routines": [Circulator, Practitioner, Materials, Compliance, Inspector],
    /// Records what a routine check found.
    RecordRoutine = "record_routine": [Circulator, Practitioner, Materials],
    /// Confirms a routine check as the second person.
    ConfirmRoutine = "confirm_routine": [Circulator, Practitioner, Materials],
    /// Lists what a routine check found.
    ListRoutineRecords = "list_routine_records": [Circulator, Practitioner, Materials, Compliance, Inspector],
    /// Adds a preference list.
    AddList = "add_list": [Practitioner, Materials],
    /// Lists preference lists.
    ListLists = "list_lists": [Circulator, Practitioner, Materials, Compliance, Inspector],
    /// Shows what is missing on a case by its preference list.
    ShowMissing = "show_missing": [Circulator, Practitioner, Materials, Compliance, Inspector],
    /// Shows what is to be taken for a case and from where.
    ShowPicking = "show_picking": [Circulator, Practitioner, Materials, Compliance, Inspector],
    /// Shows whether the cases of a day can be set up.
    ShowReadiness = "show_readiness": [Circulator, Practitioner, Materials, Compliance, Inspector],
    /// Records what was taken out for a case, or came back untouched.
    RecordPick = "record_pick": [Circulator, Materials],
    /// Reconciles a case.
    ShowReconciliation = "show_reconciliation": [Circulator, Practitioner, Materials, Compliance, Inspector],
    /// Writes down a setting or an end point of energy of the site.
    AddEnergyLimit = "add_energy_limit": [Practitioner, Compliance],
    /// Ends a setting or an end point of energy.
    EndEnergyLimit = "end_energy_limit": [Practitioner, Compliance],
    /// Lists the site's settings and end points of energy.
    ListEnergyLimits = "list_energy_limits": [Circulator, Practitioner, Materials, Compliance, Inspector],
    /// Records energy in one zone of a case.
    RecordEnergy = "record_energy": [Circulator, Practitioner],
    /// Shows the energy log of a case.
    ShowEnergy = "show_energy": [Circulator, Practitioner, Compliance, Inspector],
    /// Records a pause of the checklist or a count.
    RecordCaseCheck = "record_case_check": [Circulator, Practitioner],
    /// Confirms a check as the second person.
    ConfirmCaseCheck = "confirm_case_check": [Circulator, Practitioner],
    /// Lists the checks of a case.
    ListCaseChecks = "list_case_checks": [Circulator, Practitioner, Compliance, Inspector],
    /// Adds a follow-up to the site's list.
    AddFollowUpRule = "add_follow_up_rule": [Compliance],
    /// Lists the site's follow-ups.
    ListFollowUpRules = "list_follow_up_rules": [Circulator, Practitioner, Compliance, Inspector],
    /// Lists follow-ups, without patient identity.
    ListFollowUps = "list_follow_ups": [Circulator, Practitioner, Compliance, Inspector],
    /// Records that a follow-up was done.
    RecordFollowUp = "record_follow_up": [Circulator, Practitioner],
    /// Puts on record what the facility is for device reports.
    DecideStatus = "decide_status": [Compliance],
    /// Puts on record how many years the state has medical records kept.
    DecideRecordYears = "decide_record_years": [Compliance],
    /// Opens the file of an adverse event.
    OpenEvent = "open_event": [Practitioner, Compliance],
    /// Lists event files, without patient identity.
    ListEvents = "list_events": [Practitioner, Compliance, Inspector],
    /// Gives the patient's own record of what was used; each copy is a ledger entry.
    ShowDeviceRecord = "show_device_record": [Circulator, Practitioner, Compliance],
    /// Gives the record of a case for the chart; each copy is a ledger entry.
    ShowChartRecord = "show_chart_record": [Circulator, Practitioner, Compliance, Inspector],
    /// Gives the record of a case as FHIR R4; each copy is a ledger entry.
    ShowChartBundle = "show_chart_bundle": [Practitioner, Compliance, Inspector, Integration],
    /// Gives what a case used for billing, without patient identity.
    ShowBillingList = "show_billing_list": [Circulator, Practitioner, Materials, Compliance, Inspector],
    /// Gives the cases of days as a surgical log, without patient identity.
    ShowSurgicalLog = "show_surgical_log": [Circulator, Practitioner, Compliance, Inspector],
    /// Answers which cases, patients and places an item reached; each answer is a ledger entry.
    ShowWhereUsed = "show_where_used": [Practitioner, Materials, Compliance, Inspector],
    /// Takes in a recall notice.
    AddNotice = "add_notice": [Materials, Compliance, Integration],
    /// Lists recall notices.
    ListNotices = "list_notices": [Circulator, Practitioner, Materials, Compliance, Administrator, Inspector, Integration],
    /// Shows a recall notice with what was read of it.
    ShowNotice = "show_notice": [Circulator, Practitioner, Materials, Compliance, Administrator, Inspector, Integration],
    /// Confirms what a recall notice names: from then on it stops what it names.
    ConfirmNotice = "confirm_notice": [Materials, Compliance],
    /// Answers which cases, patients and places a recall notice hits; each answer is a ledger entry.
    ListMatches = "list_matches": [Practitioner, Materials, Compliance, Inspector],
    /// Clears a lot or piece that a recall notice hits only as possible.
    ClearMatch = "clear_match": [Materials, Compliance],
    /// Puts a recall notice's end on record: withdrawn or terminated.
    EndNotice = "end_notice": [Materials, Compliance],
    /// Shows the recall desk's settings: targets by class, and letters to patients.
    ShowNoticePolicy = "show_notice_policy": [Circulator, Practitioner, Materials, Compliance, Administrator, Inspector],
    /// Changes the recall desk's settings.
    ChangeNoticePolicy = "change_notice_policy": [Compliance],
    /// Writes the site's letter to a patient; each letter is a ledger entry.
    WriteLetter = "write_letter": [Circulator, Practitioner, Compliance],
    /// Puts on record that information of a patient was disclosed for a recall notice.
    RecordDisclosure = "record_disclosure": [Practitioner, Compliance],
    /// Lists what was disclosed for a recall notice, without patient identity.
    ListNoticeDisclosures = "list_notice_disclosures": [Practitioner, Compliance, Inspector],
    /// Lists what was disclosed of a patient for recall notices, without the identity.
    ListPatientDisclosures = "list_patient_disclosures": [Practitioner, Compliance, Inspector],
    /// Links an adverse event's file to a recall notice.
    LinkEvent = "link_event": [Practitioner, Compliance],
    /// Adds an address that is told of events, signed.
    AddWebhook = "add_webhook": [Compliance, Administrator],
    /// Lists webhooks, without their secrets.
    ListWebhooks = "list_webhooks": [Compliance, Administrator, Inspector],
    /// Ends a webhook.
    EndWebhook = "end_webhook": [Compliance, Administrator],
    /// Lists messages to webhooks; none holds a patient's identity.
    ListMessages = "list_messages": [Compliance, Administrator, Inspector],
    /// Sends a message to a webhook again.
    ResendMessage = "resend_message": [Compliance, Administrator],
    /// Lists the mails of the outbox; none holds a patient's identity.
    ListMails = "list_mails": [Compliance, Administrator, Inspector],
    /// Tells of tasks that are due soon or overdue.
    RemindTasks = "remind_tasks": [Materials, Compliance],
    /// Lists the tasks of recall notices.
    ListNoticeTasks = "list_notice_tasks": [Circulator, Practitioner, Materials, Compliance, Inspector],
    /// Changes the owner, due time or state of a task.
    ChangeNoticeTask = "change_notice_task": [Practitioner, Materials, Compliance],
    /// Shows the work on a recall notice, without patient identity.
    ShowWork = "show_work": [Practitioner, Materials, Compliance, Inspector],
    /// Puts on record what was counted of a recalled lot.
    CountStock = "count_stock": [Materials, Compliance],
    /// Puts on record that recalled items were sent back or destroyed.
    RecordDisposal = "record_disposal": [Materials, Compliance],
    /// Signs why the numbers of a recalled lot do not close.
    ExplainDifference = "explain_difference": [Materials, Compliance],
    /// Decides for a patient whom recalled items reached.
    ReviewPatient = "review_patient": [Practitioner],
    /// Puts on record an attempt to tell a patient.
    RecordOutreach = "record_outreach": [Circulator, Practitioner, Compliance],
    /// Draws patients for an effectiveness check.
    CheckEffectiveness = "check_effectiveness": [Compliance],
    /// Puts the result of an effectiveness check on record.
    RecordCheck = "record_check": [Compliance],
    /// Puts the answer to the firm on record.
    AnswerNotice = "answer_notice": [Materials, Compliance],
    /// Gives the newest answer to the firm.
    ShowAnswer = "show_answer": [Materials, Compliance, Inspector],
    /// Rehearses a recall of a lot drawn at random.
    MockRecall = "mock_recall": [Materials, Compliance],
    /// Signs the closing of a recall notice.
    CloseNotice = "close_notice": [Practitioner, Materials, Compliance],
    /// Lists ledger entries.
    ListEntries = "list_entries": [Compliance, Inspector],
    /// Shows the ledger's head.
    ShowHead = "show_head": [Circulator, Practitioner, Materials, Compliance, Administrator, Inspector, Integration],
    /// Exports a parcel.
    ExportParcel = "export_parcel": [Compliance, Inspector],
    /// Fetches an exported parcel; each fetch is a ledger entry.
    ShowParcel = "show_parcel": [Compliance, Inspector],
}

/// The role and action table as text, one action a line, for reviews (`api-spec/policy.txt`).
#[must_use]
pub fn policy_table() -> String {
    let mut text = format!("{:<24}", "action");
    for role in Role::ALL {
        let _ = write!(text, " {role:<13}");
    }
    trim_end(&mut text);
    for action in Action::ALL {
        let _ = write!(text, "{:<24}", action.as_str());
        for role in Role::ALL {
            let mark = if action.roles().contains(role) {
                "yes"
            } else {
                "-"
            };
            let _ = write!(text, " {mark:<13}");
        }
        trim_end(&mut text);
    }
    text
}

fn trim_end(text: &mut String) {
    text.truncate(text.trim_end_matches(' ').len());
    text.push('\n');
}
