//! The few words in which SQLite's and PostgreSQL's SQL differ. All other SQL
//! of the store is one text for both.

/// What makes the table for [`Dialect::claim`] in SQLite.
pub(super) const PICKED: &str = "create temp table picked (id integer primary key)";

/// Which database speaks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Dialect {
    Sqlite,
    Postgres,
}

impl Dialect {
    /// The elements of the JSON array `parameter`, as rows `name` with one column, `value`.
    ///
    /// In SQLite they stay in its binary form: as text, each element would be written out,
    /// and read again for its cells.
    pub(super) fn elements(self, parameter: &str, name: &str) -> String {
        match self {
            Dialect::Sqlite => format!("jsonb_each({parameter}) as {name}"),
            Dialect::Postgres => {
                format!("jsonb_array_elements(cast({parameter} as jsonb)) as {name}(value)")
            }
        }
    }

    /// The whole number at a place (from 0) of an element that is an array.
    pub(super) fn int(self, name: &str, place: usize) -> String {
        match self {
            Dialect::Sqlite => format!("json_extract({name}.value, '$[{place}]')"),
            Dialect::Postgres => format!("cast({name}.value ->> {place} as bigint)"),
        }
    }

    /// The text at a place (from 0) of an element that is an array.
    pub(super) fn text(self, name: &str, place: usize) -> String {
        match self {
            Dialect::Sqlite => format!("json_extract({name}.value, '$[{place}]')"),
            Dialect::Postgres => format!("({name}.value ->> {place})"),
        }
    }

    /// Values of all rows that a query finds: one JSON array, which is text, of
    /// an array for each row.
    pub(super) fn all_of(self, values: &[String]) -> String {
        let values = values.join(", ");
        match self {
            Dialect::Sqlite => format!("json_group_array(json_array({values}))"),
            Dialect::Postgres => {
                format!("coalesce(cast(json_agg(json_build_array({values})) as text), '[]')")
            }
        }
    }

    /// A query for some columns of the rows that are picked by `from`, with all that stands
    /// behind it, as [`Dialect::all_of`] gives them and in their order.
    pub(super) fn list(self, columns: &[&str], from: &str) -> String {
        let picked = columns.iter().enumerate();
        let picked: Vec<String> = picked.map(|(n, of)| format!("{of} as c{n}")).collect();
        let told: Vec<String> = (0..columns.len()).map(|n| format!("listed.c{n}")).collect();
        format!(
            "select {} from (select {} from {from}) as listed",
            self.all_of(&told),
            picked.join(", ")
        )
    }

    /// The whole numbers of the JSON array `parameter`, as rows `name` with one column, `value`.
    pub(super) fn listed(self, parameter: &str, name: &str) -> String {
        match self {
            Dialect::Sqlite => format!("json_each({parameter}) as {name}"),
            Dialect::Postgres => {
                format!("json_array_elements_text(cast({parameter} as json)) as {name}(value)")
            }
        }
    }

    /// The number in a row of such a list.
    pub(super) fn number(self, name: &str) -> String {
        match self {
            Dialect::Sqlite => format!("{name}.value"),
            Dialect::Postgres => format!("cast({name}.value as bigint)"),
        }
    }

    /// A query for the whole numbers of the JSON array `parameter`.
    pub(super) fn numbers(self, parameter: &str) -> String {
        match self {
            Dialect::Sqlite => format!("select value from json_each({parameter})"),
            Dialect::Postgres => format!(
                "select cast(value as bigint) from json_array_elements_text(cast({parameter} as json)) as number(value)"
            ),
        }
    }

    /// Changes the rows of a table whose numbers a query picks, and gives values of all of
    /// them as [`Dialect::all_of`] does.
    ///
    /// SQLite gathers nothing in a `returning`: what was picked is noted in a table of the
    /// connection's own ([`PICKED`]).
    pub(super) fn claim(
        self,
        table: &str,
        picked: &str,
        change: &str,
        values: &[String],
    ) -> String {
        let all = self.all_of(values);
        match self {
            Dialect::Sqlite => format!(
                "insert into picked {picked};\n\
                 update {table} set {change} where id in (select id from picked);\n\
                 select {all} from picked cross join {table} on {table}.id = picked.id;\n\
                 delete from picked"
            ),
            // Picked once: inside of the update it might be picked again for each row.
            Dialect::Postgres => format!(
                "with picked as materialized ({picked}), \
                 claimed as (update {table} set {change} from picked \
                   where {table}.id = picked.id returning {table}.*) \
                 select {} from claimed as {table}",
                all
            ),
        }
    }

    /// Ends a query from a few rows, each with the rows of a table, `name`, for which
    /// something holds: looked up by an index for each of the few.
    ///
    /// `cross join` is SQLite's word for this order. PostgreSQL would rather read all of a
    /// table that it still believes to be empty; `offset 0` keeps it from that.
    pub(super) fn each_with(self, table: &str, name: &str, holds: &str) -> String {
        match self {
            Dialect::Sqlite => format!("cross join {table} {name} where {holds}"),
            Dialect::Postgres => format!(
                "cross join lateral (select * from {table} {name} where {holds} offset 0) as {name}"
            ),
        }
    }

    /// The later of two instants.
    pub(super) fn later_of(self, one: &str, other: &str) -> String {
        match self {
            Dialect::Sqlite => format!("max({one}, {other})"),
            Dialect::Postgres => format!("greatest({one}, {other})"),
        }
    }

    /// Ends a query whose rows are ours until the end of the transaction, and
    /// which passes over those that are another worker's. SQLite has one writer.
    pub(super) fn skip_locked(self) -> &'static str {
        match self {
            Dialect::Sqlite => "",
            Dialect::Postgres => " for no key update skip locked",
        }
    }

    /// Ends a query whose rows are ours until the end of the transaction, and
    /// which waits for those that are another worker's.
    pub(super) fn locked(self) -> &'static str {
        match self {
            Dialect::Sqlite => "",
            Dialect::Postgres => " for no key update",
        }
    }

    /// Begins a transaction that may write.
    pub(super) fn begin(self) -> &'static str {
        match self {
            Dialect::Sqlite => "begin immediate",
            Dialect::Postgres => "begin isolation level read committed",
        }
    }

    /// Whether several transactions may be open at a time.
    pub(super) fn has_others(self) -> bool {
        self == Dialect::Postgres
    }
}
