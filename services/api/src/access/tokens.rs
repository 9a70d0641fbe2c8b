//! Access tokens: JWT signed with Ed25519, good for ten minutes (RFC 7519, RFC 8037, RFC 8725).

use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use ed25519_dalek::SigningKey;
use jiff::Timestamp;
use jsonwebtoken::{Algorithm, DecodingKey, EncodingKey, Header, Validation};
use lotwarden_domain::access::{Caller, Role};
use lotwarden_store::access::TokenKey;
use lotwarden_store::sealing::random_bytes;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::collections::HashMap;
use uuid::Uuid;
use zeroize::Zeroizing;

/// Seconds an access token is good for.
pub const ACCESS_SECONDS: i64 = 600;
const ISSUER: &str = "lotwarden";
const AUDIENCE: &str = "lotwarden-api";

/// What stands before an Ed25519 seed in a PKCS #8 key (RFC 8410, 7 and 10.3).
const PKCS8_PREFIX: &[u8] = &[
    0x30, 0x2e, 0x02, 0x01, 0x00, 0x30, 0x05, 0x06, 0x03, 0x2b, 0x65, 0x70, 0x04, 0x22, 0x04, 0x20,
];

/// Why a token does not count.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TokenError {
    /// Its time is over.
    Expired,
    /// Its signature, key or claims are not ours.
    NotOurs,
}

#[derive(Debug, Serialize, Deserialize)]
struct Claims {
    iss: String,
    aud: String,
    sub: Uuid,
    facility: Uuid,
    session: Uuid,
    roles: Vec<Role>,
    iat: i64,
    exp: i64,
}

/// A public key as a JSON Web Key (RFC 8037).
#[derive(Clone, Debug, Serialize, utoipa::ToSchema)]
pub struct PublicKey {
    /// Key type: `OKP`.
    pub kty: &'static str,
    /// Curve: `Ed25519`.
    pub crv: &'static str,
    /// Use: `sig`.
    #[serde(rename = "use")]
    pub usage: &'static str,
    /// Algorithm: `EdDSA`.
    pub alg: &'static str,
    /// The key's id.
    pub kid: String,
    /// The public key, base64url.
    pub x: String,
}

/// Signs with the newest key and verifies with every key.
pub struct Tokens {
    kid: String,
    signing: EncodingKey,
    verifying: HashMap<String, DecodingKey>,
    public: Vec<PublicKey>,
}

impl std::fmt::Debug for Tokens {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Tokens")
            .field("kid", &self.kid)
            .finish_non_exhaustive()
    }
}

/// Makes a key pair; its id is the start of the SHA-256 of the public key.
///
/// The private half in PKCS #8 form is a fixed prefix (RFC 8410, 7) before the seed.
#[must_use]
pub fn new_key() -> TokenKey {
    let seed = Zeroizing::new(random_bytes::<32>());
    let key = SigningKey::from_bytes(&seed);
    let public = key.verifying_key().to_bytes();
    let kid = URL_SAFE_NO_PAD.encode(&Sha256::digest(public)[..9]);
    let private = Zeroizing::new([PKCS8_PREFIX, seed.as_slice()].concat());
    TokenKey {
        kid,
        public: public.to_vec(),
        private,
    }
}

impl Tokens {
    /// Takes the keys, the newest first; none when there is no key.
    #[must_use]
    pub fn new(keys: &[TokenKey]) -> Option<Self> {
        let newest = keys.first()?;
        let public = |key: &TokenKey| PublicKey {
            kty: "OKP",
            crv: "Ed25519",
            usage: "sig",
            alg: "EdDSA",
            kid: key.kid.clone(),
            x: URL_SAFE_NO_PAD.encode(&key.public),
        };
        let verifying = |key: &TokenKey| (key.kid.clone(), DecodingKey::from_ed_der(&key.public));
        Some(Self {
            kid: newest.kid.clone(),
            signing: EncodingKey::from_ed_der(&newest.private),
            verifying: keys.iter().map(verifying).collect(),
            public: keys.iter().map(public).collect(),
        })
    }

    /// Signs a caller's access token; none when the signer fails.
    #[must_use]
    pub fn sign(&self, caller: &Caller, now: Timestamp) -> Option<String> {
        let mut header = Header::new(Algorithm::EdDSA);
        header.kid = Some(self.kid.clone());
        let claims = Claims {
            iss: ISSUER.to_owned(),
            aud: AUDIENCE.to_owned(),
            sub: caller.person,
            facility: caller.facility,
            session: caller.session,
            roles: caller.roles.clone(),
            iat: now.as_second(),
            exp: now.as_second() + ACCESS_SECONDS,
        };
        jsonwebtoken::encode(&header, &claims, &self.signing).ok()
    }

    /// Reads the caller of an access token.
    ///
    /// The algorithm is pinned and the key found by its id, never taken from the token (RFC 8725,
    /// 3.1). The service's own clock decides, without leeway: it signed the token itself.
    ///
    /// # Errors
    /// [`TokenError`].
    pub fn caller(&self, token: &str, now: Timestamp) -> Result<Caller, TokenError> {
        let header = jsonwebtoken::decode_header(token).map_err(|_| TokenError::NotOurs)?;
        let key = header
            .kid
            .and_then(|kid| self.verifying.get(&kid))
            .ok_or(TokenError::NotOurs)?;
        let mut validation = Validation::new(Algorithm::EdDSA);
        validation.set_issuer(&[ISSUER]);
        validation.set_audience(&[AUDIENCE]);
        validation.set_required_spec_claims(&["exp", "iss", "aud", "sub"]);
        validation.validate_exp = false;
        let token = jsonwebtoken::decode::<Claims>(token, key, &validation);
        let claims = token.map_err(|_| TokenError::NotOurs)?.claims;
        if claims.exp <= now.as_second() {
            return Err(TokenError::Expired);
        }
        Ok(Caller {
            person: claims.sub,
            facility: claims.facility,
            session: claims.session,
            roles: claims.roles,
        })
    }

    /// The public keys, for others who verify.
    #[must_use]
    pub fn public(&self) -> &[PublicKey] {
        &self.public
    }
}
