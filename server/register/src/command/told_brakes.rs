//! What each brake must show with nothing commanded, and the air that stays stored, as text.

use domain::decision::Decision;
use domain::decision::stored::StoredIn;
use domain::identity::PositionCode;
use domain::isolation::closing::Spot;
use domain::isolation::part_state::NotReleased;
use std::fmt;

/// Every brake that is not released, by car and bogie.
pub(super) fn states(f: &mut fmt::Formatter<'_>, decision: &Decision) -> fmt::Result {
    writeln!(
        f,
        "\nWhat the brakes must show with nothing commanded, as it follows from what is recorded"
    )?;
    let groups = decision.not_released();
    for group in &groups {
        let NotReleased {
            car_number: car,
            function,
            state,
            ..
        } = group;
        let bogie = group.bogie;
        let bogie = bogie.map_or(String::new(), |bogie| format!(", bogie {bogie}"));
        let positions: Vec<&str> = group.positions.iter().map(PositionCode::as_str).collect();
        let positions = positions.join("; ");
        writeln!(f, "  car {car}{bogie}, {function}: {state}: {positions}")?;
    }
    let rest = if groups.is_empty() {
        "all"
    } else {
        "all others"
    };
    writeln!(f, "  {rest}: released")
}

/// Every reservoir that nothing feeds any more: how far its air goes, and where it is drained.
pub(super) fn stored_air(f: &mut fmt::Formatter<'_>, stored: &[StoredIn]) -> fmt::Result {
    if stored.is_empty() {
        return Ok(());
    }
    writeln!(f, "\nAir that stays stored and that nothing feeds any more")?;
    for one in stored {
        let at = place(&one.at);
        let drains: Vec<String> = one.drains.iter().map(place).collect();
        let drained = match drains.as_slice() {
            [] => "no drain cock on it".to_owned(),
            drains => format!("drained at {}", drains.join(" or ")),
        };
        write!(f, "  {at}, {} l, {drained}; feeds ", one.volume_l)?;
        match (&one.applications, one.brakes) {
            (None, _) => writeln!(f, "no brake")?,
            (Some(Err(missing)), brakes) => writeln!(f, "{brakes} brakes: {missing}")?,
            (Some(Ok(worked)), brakes) => {
                let left = match worked.value {
                    0 => "none".to_owned(),
                    count => format!("{count} if it is still full"),
                };
                writeln!(f, "{brakes} brakes, full applications: {left}")?;
                for step in &worked.steps {
                    writeln!(f, "    - {}: {} [{}]", step.what, step.working, step.source)?;
                }
            }
        }
    }
    Ok(())
}

fn place(spot: &Spot) -> String {
    format!("car {} {}", spot.car_number, spot.position)
}
