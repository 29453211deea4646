//! Narrows statements to what was so at a time, and to what the register knew at one.

/// Rows of a table in two times that were known at a time, each under ` and `.
macro_rules! known_at {
    ($query:expr, $table:literal, $known:expr) => {
        $query.push(concat!(" and ", $table, ".known_from <= "));
        $query.push_bind($known);
        $query.push(concat!(" and (", $table, ".known_until is null or "));
        $query
            .push_bind($known)
            .push(concat!(" < ", $table, ".known_until)"));
    };
}
pub(crate) use known_at;

/// Rows of a table of periods into which a time falls, each under ` and `.
macro_rules! holding_at {
    ($query:expr, $table:literal, $at:expr) => {
        $query.push(concat!(" and ", $table, ".from_at <= "));
        $query.push_bind($at);
        $query.push(concat!(" and (", $table, ".until_at is null or "));
        $query
            .push_bind($at)
            .push(concat!(" < ", $table, ".until_at)"));
    };
}
pub(crate) use holding_at;
