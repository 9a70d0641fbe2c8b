//! Group roles, logins and the database of the private cluster.

use tokio_postgres::Client;

use super::connection::{ConnectError, with_client};
use super::{DATABASE, Progress};
use crate::settings::SecretUrl;

/// Login that migrates; it inherits nothing and must `SET ROLE lotwarden_owner`.
pub const MIGRATOR_LOGIN: &str = "lotwarden_migrator";

/// Login that serves; it has what `lotwarden_app` has and nothing else.
pub const SERVICE_LOGIN: &str = "lotwarden_service";

/// Makes the two group roles where they are missing; neither can log in.
pub const GROUP_ROLES: &str = "
do $$ begin
    if not exists (select from pg_roles where rolname = 'lotwarden_owner') then
        create role lotwarden_owner nologin nosuperuser nocreatedb nocreaterole noreplication nobypassrls;
    end if;
    if not exists (select from pg_roles where rolname = 'lotwarden_app') then
        create role lotwarden_app nologin nosuperuser nocreatedb nocreaterole noreplication nobypassrls;
    end if;
end $$;";

const LOGINS: &str = "
do $$ begin
    if not exists (select from pg_roles where rolname = 'lotwarden_migrator') then
        create role lotwarden_migrator login noinherit nosuperuser nocreatedb nocreaterole noreplication nobypassrls;
        grant lotwarden_owner to lotwarden_migrator;
    end if;
    if not exists (select from pg_roles where rolname = 'lotwarden_service') then
        create role lotwarden_service login inherit nosuperuser nocreatedb nocreaterole noreplication nobypassrls;
        grant lotwarden_app to lotwarden_service;
    end if;
end $$;";

const DATABASE_GRANTS: &str = "
revoke all on database lotwarden from public;
revoke all on database postgres, template1 from public;
grant connect on database lotwarden to lotwarden_migrator, lotwarden_service;";

const SCHEMA_GRANTS: &str = "
alter schema public owner to lotwarden_owner;
revoke all on schema public from public;
grant usage on schema public to lotwarden_app;";

/// Why roles and database could not be made.
#[derive(Debug, thiserror::Error)]
pub enum RolesError {
    /// A login does not get in.
    #[error(transparent)]
    Connect(#[from] ConnectError),
    /// A statement failed.
    #[error("cannot make the roles and the database of the private cluster")]
    Statement(#[from] tokio_postgres::Error),
}

/// The logins of the private cluster, each with its password beside the URL where it may need setting.
pub struct Logins<'a> {
    /// Superuser in the maintenance database.
    pub superuser: &'a SecretUrl,
    /// Superuser in the service's database.
    pub superuser_in_database: &'a SecretUrl,
    /// The login that serves.
    pub service: (&'a SecretUrl, &'a str),
    /// The login that migrates.
    pub migrator: (&'a SecretUrl, &'a str),
}

/// Makes sure roles, database and passwords are as they should be.
///
/// Each statement holds where it was carried out before, so a crash at any
/// point is repaired by the next start.
///
/// # Errors
/// A statement fails or a login does not get in.
pub fn ensure(logins: &Logins<'_>, progress: Progress<'_>) -> Result<(), RolesError> {
    with_client(logins.superuser, |client| async move {
        client.batch_execute(GROUP_ROLES).await?;
        client.batch_execute(LOGINS).await?;
        if !database_exists(&client).await? {
            progress("creating the database and its roles");
            let create = format!("create database {DATABASE} owner lotwarden_owner");
            client.batch_execute(&create).await?;
        }
        client.batch_execute(DATABASE_GRANTS).await?;
        Ok::<_, RolesError>(())
    })?;
    with_client(logins.superuser_in_database, |client| async move {
        client.batch_execute(SCHEMA_GRANTS).await?;
        Ok::<_, RolesError>(())
    })?;
    for (login, (url, password)) in [
        (SERVICE_LOGIN, logins.service),
        (MIGRATOR_LOGIN, logins.migrator),
    ] {
        ensure_password(logins.superuser, login, url, password)?;
    }
    Ok(())
}

async fn database_exists(client: &Client) -> Result<bool, tokio_postgres::Error> {
    let row = client
        .query_opt("select 1 from pg_database where datname = $1", &[&DATABASE])
        .await?;
    Ok(row.is_some())
}

/// Tries the password and sets it only where the server knows another or none.
///
/// The server is sent the SCRAM verifier, never the password.
fn ensure_password(
    superuser: &SecretUrl,
    login: &str,
    url: &SecretUrl,
    password: &str,
) -> Result<(), RolesError> {
    let attempt = || with_client(url, |_| async { Ok::<_, ConnectError>(()) });
    match attempt() {
        Err(error) if error.is_wrong_password() => {}
        other => return Ok(other?),
    }
    let verifier = postgres_protocol::password::scram_sha_256(password.as_bytes());
    with_client(superuser, |client| async move {
        let alter = format!("alter role {login} password '{verifier}'");
        client.batch_execute(&alter).await?;
        Ok::<_, RolesError>(())
    })?;
    Ok(attempt()?)
}
