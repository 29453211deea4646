//! What somebody can see of a train, and what each supposed state of it would show.
//!
//! Behind a closed cock air may be shut in or may have leaked away; each state is looked at both
//! ways.

use super::held_on::may_stay_on;
pub use super::looked_at::LookedAt;
use super::losses::{Fault, commanded, scenarios};
use crate::circuit::Mode;
use crate::circuit::compiled::Role;
use crate::circuit::delivers::Air;
use crate::circuit::scenarios::{Asked, LaneDelivery, Lanes, Scenarios};
use crate::circuit::sets::Modes;
use crate::circuit::state::Impaired;
use crate::circuit::train::TrainCircuit;
use crate::words::word_list;
use crate::worked::Missing;
use std::collections::{BTreeMap, BTreeSet};

word_list! {
    /// What the train is doing while somebody looks.
    During, "state of the brake when seen" {
        /// The service brake is applied, from the foremost place of command.
        Service = "service",
        /// The emergency brake is applied, from the foremost place of command.
        Emergency = "emergency",
        /// Nothing is commanded, and the parking brake is released.
        Released = "released",
        /// The parking brake is applied.
        Parked = "parked",
    }
}

impl During {
    /// The mode in which the circuit is then looked at.
    const fn mode(self) -> Mode {
        match self {
            Self::Service | Self::Released => Mode::Service,
            Self::Emergency => Mode::Emergency,
            Self::Parked => Mode::Holding,
        }
    }
}

word_list! {
    /// What was seen.
    Seen, "what was seen" {
        /// There is pressure.
        Pressure = "pressure",
        /// There is none.
        NoPressure = "no_pressure",
        /// The brake is on.
        Braking = "braking",
        /// The brake is off.
        NotBraking = "not_braking",
    }
}

impl Seen {
    /// Whether it speaks of a brake, not of pressure.
    pub const fn is_of_a_brake(self) -> bool {
        matches!(self, Self::Braking | Self::NotBraking)
    }

    /// What is seen of the same thing where it is the other way.
    #[must_use]
    pub const fn otherwise(self) -> Self {
        match self {
            Self::Pressure => Self::NoPressure,
            Self::NoPressure => Self::Pressure,
            Self::Braking => Self::NotBraking,
            Self::NotBraking => Self::Braking,
        }
    }
}

/// How the train was charged when it was looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Charge {
    /// Its reservoirs hold air.
    Full,
    /// Its reservoirs may be used up, and springs may have crept on.
    Old,
    /// It was charged from empty: only what sources feed now holds air.
    FromEmpty,
}

/// Where somebody looks.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Place {
    /// At one node.
    Node(usize),
    /// At the brakes of a bogie: the car's place in the train, and the bogie.
    Bogie(usize, u8),
}

/// A train made ready to be looked at.
#[derive(Debug)]
pub(crate) struct Watched<'t> {
    train: &'t TrainCircuit,
    commanded: BTreeMap<During, TrainCircuit>,
}

impl<'t> Watched<'t> {
    /// Prepares a train for some states of its brake. Linear in nodes and lines.
    pub(crate) fn new(train: &'t TrainCircuit, during: &[During]) -> Result<Self, Missing> {
        let mut trains = BTreeMap::new();
        for during in during {
            let commanded = match during {
                During::Service => commanded(train, Mode::Service)?,
                During::Emergency => commanded(train, Mode::Emergency)?,
                During::Released => train.uncommanded(),
                During::Parked => train.clone(),
            };
            trains.insert(*during, commanded);
        }
        Ok(Self {
            train,
            commanded: trains,
        })
    }

    /// The train.
    pub(crate) fn train(&self) -> &'t TrainCircuit {
        self.train
    }

    /// The nodes that may stay under pressure with these impairments, once a brake was on. The time
    /// is that of [`may_stay_on`] for service and for emergency, where the train was made ready for
    /// them.
    pub(crate) fn may_stay_on(&self, impaired: &[Impaired]) -> Result<BTreeSet<usize>, Missing> {
        let mut nodes = BTreeSet::new();
        for (during, mode) in [
            (During::Service, Mode::Service),
            (During::Emergency, Mode::Emergency),
        ] {
            if let Some(commanded) = self.commanded.get(&during) {
                nodes.extend(may_stay_on(commanded, mode, impaired)?.nodes());
            }
        }
        Ok(nodes)
    }

    /// What some places show in each of several states, in the order of the places. The time is
    /// that of nodes and lines for each state of the brake and charge.
    pub(crate) fn show(
        &self,
        states: &[&[Fault]],
        stays_on: &StaysOn,
        places: &[(Place, During, Charge)],
    ) -> Vec<Shown> {
        let mut shown = vec![Shown::NOTHING; places.len()];
        let mut groups: BTreeMap<(During, Charge), Vec<usize>> = BTreeMap::new();
        for (at, (_, during, charge)) in places.iter().enumerate() {
            groups.entry((*during, *charge)).or_default().push(at);
        }
        for ((during, charge), group) in groups {
            let Some(commanded) = self.commanded.get(&during) else {
                continue;
            };
            let scenarios = scenarios(commanded, &[], states);
            let mode = during.mode();
            let looked = Looked::new(self.train, &scenarios, (during, charge, mode), stays_on);
            for at in group {
                shown[at] = looked.at(&places[at].0);
            }
        }
        shown
    }

    /// The same of one state of a train that is commanded in a mode besides, whatever else is
    /// commanded: while the parking brake is looked at, nothing more.
    pub(crate) fn show_commanded(
        &self,
        (commanded, mode): (&TrainCircuit, Mode),
        (faults, stays_on): (&[Fault], &StaysOn),
        places: &[(Place, During, Charge)],
    ) -> Vec<Shown> {
        let states = [faults];
        let scenarios = scenarios(commanded, &[], &states);
        let mut looked: BTreeMap<(During, Charge), Looked<'_>> = BTreeMap::new();
        let show = |(place, during, charge): &(Place, During, Charge)| {
            if *during == During::Parked {
                return Shown::NOTHING;
            }
            let one = looked.entry((*during, *charge)).or_insert_with(|| {
                let how = (*during, *charge, mode);
                Looked::new(self.train, &scenarios, how, stays_on)
            });
            one.at(place)
        };
        places.iter().map(show).collect()
    }
}

/// Where air is shut in, it may be there still or may have leaked away; in between nobody can
/// tell. So each state is looked at in two ways, and what is seen must agree with one of them.
pub(crate) type BothWays<T> = [T; 2];

/// In which states a node may stay under pressure though nothing commands it, by node.
pub(crate) type StaysOn = BTreeMap<usize, Lanes>;

/// Where a place shows pressure, none, a brake that is on, and a brake that is off, in each of both
/// ways. A bogie of which one brake presses and another does not shows neither; what may stay on
/// shows both.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Shown {
    pressure: BothWays<Lanes>,
    no_pressure: BothWays<Lanes>,
    braking: BothWays<Lanes>,
    not_braking: BothWays<Lanes>,
}

impl Shown {
    const NOTHING: Self = Self {
        pressure: [Lanes::NONE; 2],
        no_pressure: [Lanes::ALL; 2],
        braking: [Lanes::NONE; 2],
        not_braking: [Lanes::ALL; 2],
    };

    /// What is shown where the brake is commanded in two ways at once: by either it is on.
    pub(crate) fn or(&self, other: &Self) -> Self {
        let either =
            |of: fn(&Self) -> BothWays<Lanes>| [0, 1].map(|way| of(self)[way].and(of(other)[way]));
        let both = |of: fn(&Self) -> BothWays<Lanes>| {
            [0, 1].map(|way| of(self)[way].within(of(other)[way]))
        };
        Self {
            pressure: either(|shown| shown.pressure),
            no_pressure: both(|shown| shown.no_pressure),
            braking: either(|shown| shown.braking),
            not_braking: both(|shown| shown.not_braking),
        }
    }

    /// Where this is seen.
    pub(crate) fn shows(&self, seen: Seen) -> BothWays<Lanes> {
        match seen {
            Seen::Pressure => self.pressure,
            Seen::NoPressure => self.no_pressure,
            Seen::Braking => self.braking,
            Seen::NotBraking => self.not_braking,
        }
    }
}

/// A block of states under one state of the brake, with shut-in air gone and with it there.
struct Looked<'s> {
    train: &'s TrainCircuit,
    scenarios: &'s Scenarios<'s>,
    during: During,
    ways: BothWays<LaneDelivery<'s>>,
    /// None where everything was emptied before.
    stays_on: Option<&'s StaysOn>,
}

impl<'s> Looked<'s> {
    fn new(
        train: &'s TrainCircuit,
        scenarios: &'s Scenarios<'s>,
        (during, charge, mode): (During, Charge, Mode),
        stays_on: &'s StaysOn,
    ) -> Self {
        let mode = Modes::of(mode);
        let ways = match charge {
            Charge::Full => [Air::Stored, Air::Retained],
            Charge::Old => [Air::FromSources, Air::Retained],
            Charge::FromEmpty => [Air::FromSources, Air::FromSources],
        };
        Self {
            train,
            scenarios,
            during,
            ways: ways.map(|air| scenarios.delivery(Asked::all(mode, air))),
            stays_on: (charge != Charge::FromEmpty).then_some(stays_on),
        }
    }

    fn at(&self, place: &Place) -> Shown {
        match place {
            Place::Node(node) => self.at_node(*node),
            Place::Bogie(car, bogie) => self.at_bogie(*car, *bogie),
        }
    }

    fn at_node(&self, node: usize) -> Shown {
        let pressure = self.ways.each_ref().map(|delivery| delivery.air_of(node));
        let braking = self.ways.each_ref().map(|delivery| {
            let (without, with) = self.scenarios.without_and_with_air(delivery, node);
            match self.train.roles()[node] {
                Role::AirApplied => with,
                Role::SpringApplied(_) => without,
                _ => Lanes::NONE,
            }
        });
        let others = |lanes: Lanes| Lanes::ALL.without(lanes);
        let (no_pressure, not_braking) = (pressure.map(others), braking.map(others));
        // Shut in, it may be there; how long, nobody can tell.
        let stays_on = self.stays_on.and_then(|nodes| nodes.get(&node));
        let stays_on = [Lanes::NONE, *stays_on.unwrap_or(&Lanes::NONE)];
        let is_brake = self.train.roles()[node] == Role::AirApplied;
        let of_brake = stays_on.map(|lanes| if is_brake { lanes } else { Lanes::NONE });
        let also = |shown: BothWays<Lanes>, more: BothWays<Lanes>| {
            [0, 1].map(|way| shown[way].and(more[way]))
        };
        Shown {
            pressure: also(pressure, stays_on),
            no_pressure,
            braking: also(braking, of_brake),
            not_braking,
        }
    }

    /// While a brake is applied, a bogie brakes when all its brakes press, and does not when
    /// none does; while released, one that presses is enough for it not to be free.
    fn at_bogie(&self, car: usize, bogie: u8) -> Shown {
        let counts = |node: &usize| {
            let is_spring = matches!(self.train.roles()[*node], Role::SpringApplied(_));
            match self.during {
                During::Service | During::Emergency => !is_spring,
                During::Released => true,
                During::Parked => is_spring,
            }
        };
        let brakes: Vec<Shown> = brakes(self.train, car, bogie)
            .filter(counts)
            .map(|node| self.at_node(node))
            .collect();
        if brakes.is_empty() {
            return Shown::NOTHING;
        }
        let all = |of: fn(&Shown, usize) -> Lanes, way: usize| {
            brakes
                .iter()
                .fold(Lanes::ALL, |all, one| all.within(of(one, way)))
        };
        let not_braking = [0, 1].map(|way| all(|one, way| one.not_braking[way], way));
        let braking = if self.during == During::Released {
            [0, 1].map(|way| {
                let each = brakes.iter().map(|one| one.braking[way]);
                each.fold(Lanes::NONE, Lanes::and)
            })
        } else {
            [0, 1].map(|way| all(|one, way| one.braking[way], way))
        };
        Shown {
            pressure: [Lanes::NONE; 2],
            no_pressure: [Lanes::ALL; 2],
            braking,
            not_braking,
        }
    }
}

/// The actuators on a bogie.
fn brakes(train: &TrainCircuit, car: usize, bogie: u8) -> impl Iterator<Item = usize> {
    let nodes = 0..train.roles().len();
    nodes.filter(move |node| {
        let (of_car, compiled) = train.of_node(*node);
        compiled.role.is_actuator() && of_car == car && compiled.bogie == Some(bogie)
    })
}

/// The bogies of a train that have a brake.
pub(crate) fn braked_bogies(train: &TrainCircuit) -> Vec<(usize, u8)> {
    let nodes = 0..train.roles().len();
    let bogie = |node: usize| {
        let (car, compiled) = train.of_node(node);
        compiled
            .role
            .is_actuator()
            .then_some((car, compiled.bogie?))
    };
    let mut bogies: Vec<(usize, u8)> = nodes.filter_map(bogie).collect();
    bogies.sort_unstable();
    bogies.dedup();
    bogies
}
