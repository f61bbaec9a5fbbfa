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

    /// Values of all rows that a query finds: one JSON array, which is text, of an array for
    /// each value. Where there are no rows these may be null.
    ///
    /// Value by value, not row by row: PostgreSQL looks up the type of what it puts into an
    /// array, once for each array.
    pub(super) fn all_of(self, values: &[String]) -> String {
        let each = |gathers: &str| {
            let each: Vec<String> = values.iter().map(|v| format!("{gathers}({v})")).collect();
            each.join(", ")
        };
        match self {
            Dialect::Sqlite => format!("json_array({})", each("json_group_array")),
            Dialect::Postgres => format!("cast(json_build_array({}) as text)", each("json_agg")),
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

    /// Whether a column is one of the whole numbers of the JSON array `parameter`.
    pub(super) fn is_one_of(self, column: &str, parameter: &str) -> String {
        match self {
            Dialect::Sqlite => format!("{column} in (select value from json_each({parameter}))"),
            // An index is read once for all of an array, and once for each row of a query.
            Dialect::Postgres => {
                format!("{column} = any (cast(translate({parameter}, '[]', '{{}}') as bigint[]))")
            }
        }
    }

    /// That a column which an index knows is a value that comes with an element.
    ///
    /// As an array of one this can be joined in no way but by looking each up. Where a table
    /// was small when PostgreSQL made its plan, it would read all of it later, for a hundred.
    pub(super) fn looked_up(self, column: &str, value: &str) -> String {
        match self {
            Dialect::Sqlite => format!("{column} = {value}"),
            Dialect::Postgres => format!("{column} = any (array[{value}])"),
        }
    }

    /// What stands behind `from` to find rows of a table, as `name`, by a column that an index
    /// knows and that is one of the whole numbers of the JSON array `parameter`. `only` is
    /// what else must hold, with ` and ` before it.
    pub(super) fn rows_of(
        self,
        table: &str,
        name: &str,
        column: &str,
        parameter: &str,
        only: &str,
    ) -> String {
        match self {
            // `cross join` is SQLite's word for this order, and quicker than a list to be in.
            Dialect::Sqlite => format!(
                "json_each({parameter}) as wanted cross join {table} {name} \
                 where {name}.{column} = wanted.value{only}"
            ),
            Dialect::Postgres => format!(
                "{table} {name} where {}{only}",
                self.is_one_of(&format!("{name}.{column}"), parameter)
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
