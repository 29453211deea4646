//! The small fleet by places in lists, and a model's words as commands.

use super::model::{Hour, Model, Place, Said, Stands};
use super::step::{Act, Step};
use domain::configuration::component::ComponentRef;
use domain::configuration::host::HostPosition;
use domain::ledger::command::Command;
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::time::Instant;
use tests::assemblies::{
    self, FRAME, INNER_PANEL, INNER_RELAY, INNER_VALVE, PANEL, PANEL_PLACE, REVISION,
};
use tests::facts::{
    at, car, done, fitted_at, fitted_at_until_as, inside, judged, moved_to, odometer_replaced,
    position, read, relocated, removed_as, swapped,
};
use tests::fleet::{
    self, CARS, FIRST, LATER_VALVE, OVERHAUL, RELAY, SECOND, VALVE, brake_test_after,
};
use tests::register::{command, correction};

/// When the fleet is founded, hour nought.
const FOUNDED: &str = "2029-01-01T00:00Z";
/// After what the brake test of a car is due at once.
const OBLIGATIONS: [&str; 3] = [
    "exchanged distributor_valve 2029-01-02",
    "exchanged control_panel 2029-01-03",
    "exchanged relay_valve 2029-01-01",
];
pub(super) const DEPOTS: [&str; 2] = ["North", "South"];
const CODES: [&str; 4] = [FIRST, SECOND, RELAY, PANEL_PLACE];
/// The places of the assemblies in the list of components.
const ASSEMBLIES: [Place; 3] = [6, 7, 8];
/// Positions inside assemblies, each with its assembly; they follow those of the cars.
const INNER: [(Place, &str); 5] = [
    (ASSEMBLIES[0], INNER_VALVE),
    (ASSEMBLIES[0], INNER_RELAY),
    (ASSEMBLIES[1], INNER_VALVE),
    (ASSEMBLIES[1], INNER_RELAY),
    (ASSEMBLIES[2], INNER_PANEL),
];

/// An hour as a moment.
pub(super) fn moment(hour: Hour) -> Instant {
    let founded = at(FOUNDED).microseconds();
    Instant::from_microseconds(founded + hour * 3_600_000_000).unwrap()
}

/// A moment as an hour, from what the tables say.
pub(super) fn hour(microseconds: &str) -> Hour {
    let since = microseconds.parse::<i64>().unwrap() - at(FOUNDED).microseconds();
    since / 3_600_000_000
}

/// The components: four valves, a later valve, a relay valve, two panels, a frame.
pub(super) fn components() -> Vec<ComponentRef> {
    let all = fleet::components();
    let single = all.valves.into_iter().chain([all.later, all.relay]);
    single.chain(assemblies::components()).collect()
}

/// The positions: four on each car, and those inside the assemblies.
pub(super) fn positions() -> Vec<HostPosition> {
    let components = components();
    let on_car = |car: &&str| CODES.map(|code| position(car, code).into());
    let inner = INNER.map(|(assembly, code)| inside(&components[assembly], code));
    CARS.iter().flat_map(on_car).chain(inner).collect()
}

/// Where a position is: on which car, or inside which component.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Of {
    Car(Place),
    Component(Place),
}

/// What a position is of, and its code.
pub(super) fn of(place: Place) -> (Of, &'static str) {
    match place.checked_sub(CODES.len() * CARS.len()) {
        None => (Of::Car(place / CODES.len()), CODES[place % CODES.len()]),
        Some(inner) => (Of::Component(INNER[inner].0), INNER[inner].1),
    }
}

/// Whether a component's part is approved at a position.
pub(super) fn approved(component: Place, place: Place) -> bool {
    let (_, code) = of(place);
    match components()[component].part.as_str() {
        VALVE => [FIRST, SECOND, INNER_VALVE].contains(&code),
        LATER_VALVE => code == FIRST,
        PANEL => [PANEL_PLACE, INNER_PANEL].contains(&code),
        FRAME => code == PANEL_PLACE,
        _ => [RELAY, INNER_RELAY].contains(&code),
    }
}

/// One of the positions that suit a component, or now and then one that does not.
fn place_for(component: Place, wanted: usize) -> Place {
    let suits = |place: &Place| approved(component, *place);
    let all = 0..CODES.len() * CARS.len() + INNER.len();
    let mut places: Vec<Place> = all.clone().filter(suits).collect();
    places.extend(all.into_iter().find(|place| !suits(place)));
    places[wanted % places.len()]
}

/// One of the components that are fitted; any one where none is.
fn fitted_one(model: &Model, wanted: usize) -> Place {
    let mut fitted = model.intervals();
    fitted.retain(|interval| interval.until.is_none());
    match fitted.len() {
        0 => wanted,
        count => fitted[wanted % count].component,
    }
}

/// What a step asks for, in the words of the model: something new, something in the place of an
/// entry, or that an entry be taken back.
#[derive(Debug, Clone)]
pub(super) struct Asked {
    pub(super) at: Hour,
    pub(super) corrects: Option<i64>,
    pub(super) said: Option<Said>,
}

/// What a step asks for, given what stands. None where there is no entry to correct.
pub(super) fn asked(model: &Model, step: &Step) -> Option<Asked> {
    let at = model.now - step.ago_hours;
    let (at, corrects) = match step.act {
        Act::Withdraw { back } => (at, Some(nth_last(model, back)?)),
        Act::Correct { back, km, .. } => {
            let wrong = nth_last(model, back)?;
            // Now and then it was later.
            let later = if km % 3 == 0 { km / 9 } else { 0 };
            (wrong.at - step.ago_hours + later, Some(wrong))
        }
        Act::FitUntil { hours, .. } => (at - hours, None),
        _ => (at, None),
    };
    let said = match (&step.act, corrects) {
        (Act::Correct { position, km, .. }, Some(wrong)) => {
            Some(corrected(&wrong.said, *position, *km))
        }
        (act, _) => of_component(model, act, at).or_else(|| of_car(model, act, at)),
    };
    Some(Asked {
        at,
        corrects: corrects.map(|wrong| wrong.entry),
        said,
    })
}

fn of_component(model: &Model, act: &Act, at: Hour) -> Option<Said> {
    Some(match *act {
        Act::Fit {
            component,
            position,
        } => Said::Fitted {
            component,
            position: place_for(component, position),
        },
        Act::FitUntil {
            component,
            position,
            hours,
            condition,
        } => Said::FittedUntil {
            component,
            position: place_for(component, position),
            until: at + hours,
            condition,
        },
        Act::Remove {
            component,
            condition,
        } => Said::Removed {
            component: fitted_one(model, component),
            condition,
        },
        Act::Move {
            component,
            position,
        } => {
            let component = fitted_one(model, component);
            let position = place_for(component, position);
            Said::Moved {
                component,
                position,
            }
        }
        Act::Swap { first, second } => Said::Swapped {
            first: fitted_one(model, first),
            second: fitted_one(model, second),
        },
        Act::Relocate { component } => Said::Relocated { component },
        Act::Judge {
            component,
            condition,
        } => Said::Judged {
            component,
            condition,
        },
        Act::Done { component } => Said::Done { component },
        _ => return None,
    })
}

fn of_car(model: &Model, act: &Act, at: Hour) -> Option<Said> {
    Some(match *act {
        Act::Read { car, km } => Said::Read {
            car,
            shown: shown_before(model, car, at) + km,
        },
        Act::Replace { car, km } => Said::Replaced {
            car,
            last: shown_before(model, car, at) + km,
            first: km / 10,
        },
        Act::MoveToDepot { car, depot } => Said::MovedToDepot { car, depot },
        _ => return None,
    })
}

fn nth_last(model: &Model, back: usize) -> Option<&Stands> {
    model.stands.iter().rev().nth(back)
}

fn shown_before(model: &Model, car: Place, at: Hour) -> i64 {
    let shown = model.shown(car);
    shown
        .range(..=at)
        .next_back()
        .map_or(0, |(_, (_, shown))| *shown)
}

fn corrected(wrong: &Said, wanted: usize, km: i64) -> Said {
    let mut said = wrong.clone();
    match &mut said {
        // Only the time was wrong: what was recorded since goes on.
        Said::Fitted { .. } | Said::FittedUntil { .. } | Said::Moved { .. } if km % 2 == 0 => {}
        Said::Fitted {
            component,
            position,
        }
        | Said::FittedUntil {
            component,
            position,
            ..
        }
        | Said::Moved {
            component,
            position,
        } => *position = place_for(*component, wanted),
        Said::Read { shown, .. } => *shown = (*shown + km - 450).max(0),
        Said::Replaced { last, .. } => *last = (*last + km - 450).max(0),
        _ => {}
    }
    said
}

/// The command that asks for it.
pub(super) fn command_for(asked: &Asked) -> Command {
    let fact = asked.said.as_ref().map_or(Fact::Withdrawn, fact);
    match asked.corrects {
        Some(entry) => correction(Seq(entry), moment(asked.at), fact),
        None => command(moment(asked.at), fact),
    }
}

fn fact(said: &Said) -> Fact {
    let (components, positions) = (components(), positions());
    match *said {
        Said::Fitted {
            component,
            position,
        } => fitted_at(&components[component], &positions[position]),
        Said::FittedUntil {
            component,
            position,
            until,
            condition,
        } => {
            let (component, position) = (&components[component], &positions[position]);
            fitted_at_until_as(component, position, moment(until), condition)
        }
        Said::Removed {
            component,
            condition,
        } => removed_as(&components[component], condition),
        Said::Moved {
            component,
            position,
        } => moved_to(&components[component], &positions[position]),
        Said::Swapped { first, second } => swapped(&components[first], &components[second]),
        Said::Relocated { component } => relocated(&components[component], "Shelf 3"),
        Said::Judged {
            component,
            condition,
        } => judged(&components[component], condition),
        Said::Read { car, shown } => read(CARS[car], shown),
        Said::Replaced { car, last, first } => odometer_replaced(CARS[car], last, first),
        Said::Done { component } => done(&components[component], OVERHAUL),
        Said::MovedToDepot { car: of, depot } => car(CARS[of], REVISION, DEPOTS[depot]),
    }
}

/// The commands that found the fleet, and what they put where.
pub(super) fn founding() -> (Vec<Command>, Vec<Stands>) {
    let receipts = fleet::receipts(&fleet::components());
    let facts = assemblies::design().into_iter();
    let facts = facts
        .chain(receipts)
        .chain(assemblies::receipts())
        .chain([Fact::TaskDefined(brake_test_after("B", &OBLIGATIONS))]);
    let mut commands: Vec<Command> = facts.map(|fact| command(moment(0), fact)).collect();
    let mut stands = Vec::new();
    for (component, position) in [(0, 0), (1, 1), (2, 4), (5, 2), (3, 12), (6, 3)] {
        let said = Said::Fitted {
            component,
            position,
        };
        commands.push(command(moment(0), fact(&said)));
        stands.push(Stands {
            entry: i64::try_from(commands.len()).unwrap(),
            at: 0,
            said,
        });
    }
    (commands, stands)
}
