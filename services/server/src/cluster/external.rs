//! The server that the settings name: only its two group roles are made sure of.

use tokio_postgres::Client;
use tokio_postgres::error::SqlState;

use super::connection::{ConnectError, with_client};
use super::roles::GROUP_ROLES;
use crate::settings::SecretUrl;

/// Why the named server cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum ExternalError {
    /// The login does not get in.
    #[error(transparent)]
    Connect(#[from] ConnectError),
    /// The group roles are missing and the login may not make them.
    #[error(
        "the database login may not make the group roles; let an administrator of the server run:\n\
         \x20 create role lotwarden_owner nologin; create role lotwarden_app nologin;\n\
         \x20 grant lotwarden_owner to <login of LOTWARDEN_OWNER_URL>;\n\
         \x20 grant lotwarden_app to <login of LOTWARDEN_DATABASE_URL>;"
    )]
    RolesMissing(#[source] tokio_postgres::Error),
    /// A statement failed.
    #[error("the named database server refused a statement")]
    Statement(#[from] tokio_postgres::Error),
}

/// Makes `lotwarden_owner` and `lotwarden_app` on the named server where they
/// are missing, and takes membership of the owner role for this login.
///
/// The login needs `CREATEROLE` only while the roles are missing.
///
/// # Errors
/// The server cannot be reached, or an administrator must make the roles.
pub fn ensure_group_roles(owner_url: &SecretUrl) -> Result<(), ExternalError> {
    with_client(owner_url, |client| async move {
        if group_roles_usable(&client).await? {
            return Ok(());
        }
        make(&client).await.map_err(|error| match error.code() {
            Some(&SqlState::INSUFFICIENT_PRIVILEGE) => ExternalError::RolesMissing(error),
            _ => ExternalError::Statement(error),
        })
    })
}

async fn group_roles_usable(client: &Client) -> Result<bool, tokio_postgres::Error> {
    let roles = client
        .query(
            "select pg_has_role(oid, 'member') from pg_roles \
             where rolname in ('lotwarden_owner', 'lotwarden_app') order by rolname desc",
            &[],
        )
        .await?;
    // The first row is the owner role; the service's role need only exist.
    Ok(roles.len() == 2 && roles[0].get::<_, bool>(0))
}

async fn make(client: &Client) -> Result<(), tokio_postgres::Error> {
    // Two processes that start at once take turns; the lock ends with the connection.
    client
        .batch_execute("select pg_advisory_lock(hashtext('lotwarden group roles'))")
        .await?;
    client.batch_execute(GROUP_ROLES).await?;
    let member = client
        .query_one("select pg_has_role('lotwarden_owner', 'member')", &[])
        .await?;
    if !member.get::<_, bool>(0) {
        client
            .batch_execute("grant lotwarden_owner to current_user")
            .await?;
    }
    Ok(())
}
