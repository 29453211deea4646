//! Narrows statements to what was so at a time, and to what the register knew at one.

/// From which cars: those in the register, and of a past time those, too, that were in it when a given
/// entry was the last and are not any more. Ends in a condition, so that others follow under ` and `. Of
/// one number, what is not any more comes first by the ids.
macro_rules! cars_known {
    ($query:expr, $last:expr) => {
        cars_known!($query, $last, "")
    };
    ($query:expr, $last:expr, $joined:literal) => {
        let last: Option<domain::ledger::entry::Seq> = $last;
        match last {
            None => {
                $query.push(concat!(" from car", $joined, " where 1 = 1"));
            }
            Some(last) => {
                $query.push(concat!(" from car_ever car", $joined));
                $query.push(" where (car.withdrawn_by = 0 or (car.id <= ");
                $query.push_bind(last.0).push(" and car.withdrawn_by > ");
                $query.push_bind(last.0).push("))");
            }
        }
    };
}
pub(crate) use cars_known;

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
