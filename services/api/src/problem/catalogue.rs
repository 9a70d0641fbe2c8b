//! The permanent slugs; the service documents each at `/problems/<slug>`.

/// One kind of problem.
#[derive(Debug)]
pub struct Catalogued {
    /// The HTTP status.
    pub status: u16,
    /// The permanent slug.
    pub code: &'static str,
    /// What this kind of problem is.
    pub title: &'static str,
    /// What a caller can do.
    pub advice: &'static str,
}

macro_rules! problems {
    ($($name:ident = $status:literal $code:literal $title:literal $advice:literal;)+) => {
        $(
            #[doc = $title]
            pub static $name: Catalogued =
                Catalogued { status: $status, code: $code, title: $title, advice: $advice };
        )+

        /// Every kind of problem, in the order of status.
        pub static PROBLEMS: &[&Catalogued] = &[$(&$name,)+];
    };
}

problems! {
    INVALID = 400 "invalid" "The request does not fit its description." "Correct the fields that errors names; /docs describes every request.";
    NOT_JSON = 400 "not-json" "The body is not JSON of the expected shape." "Send application/json as /docs describes; detail names the place.";
    KEY_MISSING = 400 "key-missing" "This request needs an Idempotency-Key header." "Send a fresh random key, such as a UUID, and the same one when you repeat the request.";
    NOT_SIGNED_IN = 401 "not-signed-in" "This needs a valid access token." "Sign in at POST /v1/sessions, or renew at POST /v1/sessions/refresh, and send Authorization: Bearer TOKEN.";
    WRONG_CREDENTIALS = 401 "wrong-credentials" "Login or password is wrong, or the account ended." "Check both; after several failures each further attempt has to wait.";
    NOT_PAIRED = 401 "not-paired" "This needs a paired station." "An administrator makes a code at POST /v1/stations/STATION/pairing-codes; redeem it at POST /v1/stations/pair.";
    WRONG_BADGE = 401 "wrong-badge" "Badge or PIN is wrong, or the badge or account ended." "Try again, or sign in with login and password; after several failures each further attempt has to wait.";
    NO_PIN = 401 "no-pin" "There is no PIN for this badge." "Sign in with login and password and set a PIN at POST /v1/people/current/pin.";
    PIN_ENDED = 401 "pin-ended" "Too many wrong PINs in a row ended the PIN of this badge." "Sign in with login and password and set a PIN at POST /v1/people/current/pin, or let another person vouch at POST /v1/stations/current/vouches.";
    FORBIDDEN = 403 "forbidden" "Your roles do not hold this." "GET /v1/policy shows who may do what.";
    NO_SUCH_THING = 404 "no-such-thing" "There is nothing at this address." "Check the identifier; things of another facility cannot be seen.";
    NO_SUCH_METHOD = 405 "no-such-method" "This address does not take this method." "The Allow header and /docs name the methods.";
    CASE_CLOSED = 409 "case-closed" "The case's state does not allow this." "Read the case again; a case goes from preparation to in-progress to completed, or to not-done.";
    CASE_SIGNED = 409 "case-signed" "The case is signed." "A signed case is not changed.";
    ALREADY_DONE = 409 "already-done" "This was done before." "Read the record again; nothing was changed.";
    TAKEN = 409 "taken" "This name or code is in use." "Choose another, or use the record that has it.";
    NOT_ON_SHELF = 409 "not-on-shelf" "The item is not on a shelf." "Read the item again; it may be on another case.";
    DIFFERS = 409 "differs" "This contradicts a record that is kept." "Compare both; nothing was changed.";
    OUT_OF_ORDER = 409 "out-of-order" "A step before this one is missing." "Read the record again; detail names the step.";
    NOTICE_STATE = 409 "notice-state" "The notice's state does not allow this." "Read the notice again; a notice goes from unconfirmed to open to closed, or is withdrawn.";
    WORK_OPEN = 409 "work-open" "Work on the notice is not done yet." "GET /v1/notices/{notice}/work shows what is open; a notice is closed by two persons when nothing else is.";
    STALE = 412 "stale" "The record changed since it was read." "Read it again and send its new ETag in If-Match.";
    TOO_LARGE = 413 "too-large" "The body is too large." "A body is 256 KiB at most, that of a recall notice 4 MiB; detail names the limit.";
    NOT_ACCEPTED = 415 "not-accepted" "The body has a type that is not taken here." "Send application/json.";
    KEY_REUSED = 422 "key-reused" "The Idempotency-Key was used for another request." "Use a fresh key for each new request.";
    NO_MATCH_HEADER = 428 "no-match-header" "A change needs the If-Match header." "Read the record and send its ETag in If-Match.";
    PIN_HELD_BACK = 429 "pin-held-back" "The PIN of this badge is held back after wrong ones in a row." "Wait as long as Retry-After says, or let another person vouch at POST /v1/stations/current/vouches.";
    TOO_MANY = 429 "too-many" "Too many requests." "Wait as long as Retry-After says.";
    INTERNAL = 500 "internal" "The service failed." "Nothing of this request was kept unless a repeat with the same key says so; the log has the cause under this request's id.";
    BUSY = 503 "busy" "Too many requests wait for the ledger." "Nothing of this request was kept; repeat it with the same Idempotency-Key after Retry-After.";
    UNAVAILABLE = 503 "unavailable" "The ledger cannot be written or read now." "This request is not acknowledged; repeat it with the same Idempotency-Key after Retry-After.";
}
