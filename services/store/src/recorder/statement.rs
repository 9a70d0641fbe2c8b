//! Prepared statements with positional parameters.
//!
//! `diesel::sql_query` is planned anew each time, which costs more than the rows of a batch do;
//! a type of its own lets diesel keep the prepared statement on the connection.

/// Declares a statement: its parameters in the order of `$1`, `$2`, ..., the columns it returns
/// (`()` for none), and its text.
macro_rules! statement {
    ($(#[$meta:meta])* $name:ident($($field:ident: $rust:ty => $sql:ty),* $(,)?) -> ($($out:ty),*), $text:expr) => {
        $(#[$meta])*
        pub(crate) struct $name { $(pub(crate) $field: $rust,)* }

        impl diesel::query_builder::QueryFragment<diesel::pg::Pg> for $name {
            fn walk_ast<'b>(
                &'b self,
                mut out: diesel::query_builder::AstPass<'_, 'b, diesel::pg::Pg>,
            ) -> diesel::QueryResult<()> {
                out.push_sql($text);
                $(out.push_bind_param_value_only::<$sql, _>(&self.$field)?;)*
                Ok(())
            }
        }

        impl diesel::query_builder::QueryId for $name {
            type QueryId = Self;
            const HAS_STATIC_QUERY_ID: bool = true;
        }

        impl diesel::query_builder::Query for $name {
            type SqlType = ($($out,)*);
        }
    };
}
pub(crate) use statement;
