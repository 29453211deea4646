//! The positions of a train that can be supposed cut out: buttons on the drawing, and a list for
//! each car.

use super::labels::{self, Labels};
use super::link::{CLOSE, FORMATION, More, QuestionLink};
use crate::address;
use crate::drawing::train_side::Cock;
use crate::drawing::wheels::CockState;
use domain::circuit::compiled::CompiledCircuit;
use domain::configuration::car_type::Position;
use domain::configuration::component::PositionRef;
use domain::decision::{Supposed, TrainCar};
use domain::isolation::CutOutState;
use domain::isolation::isolable::Isolable;
use std::sync::Arc;

/// The positions of one car.
#[derive(Debug)]
pub(crate) struct CarPositions {
    pub(crate) number: String,
    pub(crate) cocks: usize,
    pub(crate) others: usize,
    /// Where they are listed.
    pub(crate) href: String,
    /// Them, where something is cut out or supposed on the car or its list was asked for.
    pub(crate) list: Option<PositionList>,
}

/// The list of a car's positions.
#[derive(Debug)]
pub(crate) struct PositionList {
    pub(crate) cocks: Vec<CockRow>,
    /// What else can fail: the place and its words.
    pub(crate) others: Vec<(String, String)>,
    /// What the form must bring along.
    pub(crate) hidden: Vec<(String, String)>,
}

/// A cock with the states it can be supposed to be in.
#[derive(Debug)]
pub(crate) struct CockRow {
    pub(crate) id: String,
    pub(crate) code: String,
    pub(crate) label: String,
    pub(crate) title: String,
    pub(crate) state: &'static str,
    pub(crate) states: Vec<StateOption>,
}

/// A state to choose.
#[derive(Debug)]
pub(crate) struct StateOption {
    pub(crate) value: String,
    pub(crate) words: String,
    pub(crate) chosen: bool,
}

/// A supposition, with the way to take it back.
#[derive(Debug)]
pub(crate) struct SupposedRow {
    pub(crate) words: String,
    pub(crate) without: String,
    /// Where it is recorded once it was done; none of what is supposed open.
    pub(crate) record: Option<String>,
}

/// What all cars of one circuit have in common.
pub(crate) struct Kind<'a> {
    circuit: &'a Arc<CompiledCircuit>,
    /// Along the car.
    isolable: Vec<Isolable<'a>>,
    labels: Labels<'a>,
}

/// The kinds of the cars of a train, each once.
pub(crate) fn kinds(cars: &[TrainCar]) -> Vec<Kind<'_>> {
    let mut kinds: Vec<Kind<'_>> = Vec::new();
    for TrainCar { circuit, .. } in cars {
        if !kinds.iter().any(|kind| Arc::ptr_eq(kind.circuit, circuit)) {
            let car_type = circuit.car_type();
            let mut isolable = Isolable::all_of(car_type);
            isolable.sort_by(|a, b| {
                let (a, b) = (a.position, b.position);
                (a.along_mm, &a.code).cmp(&(b.along_mm, &b.code))
            });
            kinds.push(Kind {
                circuit,
                isolable,
                labels: Labels::of(car_type),
            });
        }
    }
    kinds
}

/// A position that can be cut out, as it stands in the question.
struct Node<'a> {
    car: &'a TrainCar,
    labels: &'a Labels<'a>,
    isolable: Isolable<'a>,
    recorded: Option<CutOutState>,
    supposed: Option<&'a Supposed>,
}

/// The positions of a car that can be cut out, as they stand in the question.
pub(crate) struct CarNodes<'a> {
    car: &'a TrainCar,
    nodes: Vec<Node<'a>>,
}

/// Those of each car. Linear in positions, times the cut-outs of their car and what is supposed.
pub(crate) fn nodes<'a>(
    kinds: &'a [Kind<'a>],
    cars: &'a [TrainCar],
    link: &'a QuestionLink,
) -> Vec<CarNodes<'a>> {
    let of_car = |car: &'a TrainCar| {
        let kind = kinds
            .iter()
            .find(|kind| Arc::ptr_eq(kind.circuit, &car.circuit));
        let of_kind = |kind: &'a Kind<'a>| {
            let isolable = kind.isolable.iter();
            isolable.map(|isolable| node(car, (&kind.labels, *isolable), link))
        };
        CarNodes {
            car,
            nodes: kind.into_iter().flat_map(of_kind).collect(),
        }
    };
    cars.iter().map(of_car).collect()
}

fn node<'a>(
    car: &'a TrainCar,
    (labels, isolable): (&'a Labels<'a>, Isolable<'a>),
    link: &'a QuestionLink,
) -> Node<'a> {
    let code = &isolable.position.code;
    let mut cut_outs = car.cut_outs.iter();
    let recorded = cut_outs.find(|cut_out| cut_out.position == *code);
    let at = |one: &&Supposed| one.at.car == car.number && one.at.position == *code;
    Node {
        car,
        labels,
        isolable,
        recorded: recorded.map(|cut_out| cut_out.state),
        supposed: link.supposed.iter().find(at),
    }
}

impl Node<'_> {
    fn state(&self) -> CockState {
        let code = &self.isolable.position.code;
        let vacant = self.car.vacant.contains(code);
        match (self.supposed.map(|one| one.state), self.recorded) {
            (Some(Some(_)), _) => CockState::Supposed,
            (Some(None), Some(_)) => CockState::SupposedOpen,
            (_, Some(_)) => CockState::CutOut,
            (_, None) if vacant && self.car.is_incomplete(code) => CockState::Incomplete,
            (_, None) if vacant => CockState::Vacant,
            (_, None) => CockState::Open,
        }
    }

    fn suppose(&self, state: Option<CutOutState>) -> Supposed {
        Supposed {
            at: PositionRef {
                car: self.car.number.clone(),
                position: self.isolable.position.code.clone(),
            },
            state,
        }
    }

    /// The link that a click on the drawing leads to: it turns the position over.
    fn turned(&self, link: &QuestionLink, more: &More) -> String {
        let usual = self.isolable.usual();
        match (self.supposed, self.recorded) {
            (Some(one), _) => link.without(one),
            (None, Some(_)) => more.and(&self.suppose(None)),
            (None, None) => more.and(&self.suppose(Some(usual))),
        }
    }

    /// The cut-out state that holds in the question, if one does.
    fn holds(&self) -> Option<CutOutState> {
        self.supposed.map_or(self.recorded, |one| one.state)
    }

    fn words(&self) -> String {
        let state = self.state().words();
        match self.holds() {
            Some(how) => format!("{state}: {how}"),
            None => state.to_owned(),
        }
    }

    fn cock(&self, link: &QuestionLink, more: &More) -> Cock {
        let Position { code, title, .. } = self.isolable.position;
        let turn = match self.state() {
            CockState::Supposed | CockState::SupposedOpen => "take the supposition back",
            CockState::CutOut => "suppose it open",
            CockState::Open | CockState::Vacant | CockState::Incomplete => "suppose it cut out",
        };
        Cock {
            code: code.clone(),
            along_mm: self.isolable.position.along_mm,
            state: self.state(),
            label: self.labels.label(self.isolable.position).to_owned(),
            title: format!(
                "Car {}, {code}, {title}: {}; {turn}",
                self.car.number,
                self.words()
            ),
            href: self.turned(link, more),
        }
    }

    fn row(&self) -> CockRow {
        let Position { code, title, .. } = self.isolable.position;
        CockRow {
            id: format!("state-{}-{code}", self.car.number).replace(' ', "_"),
            code: code.to_string(),
            label: self.labels.label(self.isolable.position).to_owned(),
            title: title.clone(),
            state: self.state().class(),
            states: self.states(),
        }
    }

    fn states(&self) -> Vec<StateOption> {
        let recorded = self.recorded.map_or_else(
            || "as recorded: open".to_owned(),
            |state| format!("as recorded: {state}"),
        );
        let mut states = vec![StateOption {
            value: String::new(),
            words: recorded,
            chosen: self.supposed.is_none(),
        }];
        let usual = self.isolable.usual();
        let others = self
            .isolable
            .states()
            .iter()
            .filter(|state| **state != usual);
        let cut_out = [Some(usual)]
            .into_iter()
            .chain(others.map(|state| Some(*state)));
        let open = self.recorded.map(|_| None);
        for state in open.into_iter().chain(cut_out) {
            let words = state.map_or("open".to_owned(), |state| state.to_string());
            states.push(StateOption {
                value: self.suppose(state).to_string(),
                words: format!("suppose: {words}"),
                chosen: self.supposed.is_some_and(|one| one.state == state),
            });
        }
        states
    }
}

/// The buttons of each car: its cocks, and whatever else is cut out or supposed to be.
pub(crate) fn buttons(cars: &[CarNodes<'_>], link: &QuestionLink) -> Vec<Vec<Cock>> {
    let more = link.more();
    let drawn = |node: &Node<'_>| {
        let touched = node.recorded.is_some() || node.supposed.is_some();
        (node.isolable.is_cock() || touched).then(|| node.cock(link, &more))
    };
    let of_car = |car: &CarNodes<'_>| car.nodes.iter().filter_map(drawn).collect();
    cars.iter().map(of_car).collect()
}

/// The positions of each car: those listed that someone will want to look at, so that the page
/// does not grow with every car by all of its positions.
pub(crate) fn lists(cars: &[CarNodes<'_>], link: &QuestionLink) -> Vec<CarPositions> {
    cars.iter().map(|car| of_car(car, link)).collect()
}

fn of_car(CarNodes { car, nodes }: &CarNodes<'_>, link: &QuestionLink) -> CarPositions {
    let (cocks, others): (Vec<&Node<'_>>, Vec<_>) =
        nodes.iter().partition(|node| node.isolable.is_cock());
    let mut all = nodes.iter();
    let stands_out = all.any(|node| node.holds().is_some() || node.supposed.is_some());
    let listed = stands_out || link.shown.lists(&car.number);
    CarPositions {
        number: car.number.to_string(),
        href: format!("{}#suppose", link.with_list_of(&car.number)),
        cocks: cocks.len(),
        others: others.len(),
        list: listed.then(|| list(&cocks, &others, link)),
    }
}

fn list(cocks: &[&Node<'_>], others: &[&Node<'_>], link: &QuestionLink) -> PositionList {
    let mut hidden: Vec<(String, String)> = Vec::new();
    hidden.extend(
        link.formation()
            .map(|f| (FORMATION.to_owned(), f.to_owned())),
    );
    hidden.extend(
        link.fields()
            .map(|(name, text)| (name.to_owned(), text.to_owned())),
    );
    let in_list = |one: &&Supposed| {
        let mut rows = cocks.iter();
        rows.any(|node| node.supposed == Some(*one))
    };
    let elsewhere = link.supposed.iter().filter(|one| !in_list(one));
    hidden.extend(elsewhere.map(|one| (CLOSE.to_owned(), one.to_string())));
    let shown = link.times.given().chain(link.shown.pairs());
    hidden.extend(shown.map(|(name, value)| (name.to_owned(), value)));
    PositionList {
        cocks: cocks.iter().map(|node| node.row()).collect(),
        others: others.iter().map(|node| other(node)).collect(),
        hidden,
    }
}

fn other(node: &Node<'_>) -> (String, String) {
    let Position { code, title, .. } = node.isolable.position;
    let value = format!("{}:{code}", node.car.number);
    (value, format!("{title} ({code})"))
}

/// What is supposed, in words.
pub(crate) fn supposed(cars: &[TrainCar], link: &QuestionLink) -> Vec<SupposedRow> {
    let row = |one: &Supposed| {
        let car = cars.iter().find(|car| car.number == one.at.car);
        let position = car.and_then(|car| car.circuit.car_type().position(&one.at.position));
        let title = position.map_or(String::new(), |position| format!(", {}", position.title));
        let label = position.and_then(labels::on_car);
        let label = label.map_or(String::new(), |label| format!(", label {label}"));
        let state = one
            .state
            .map_or("open".to_owned(), |state| state.to_string());
        SupposedRow {
            words: format!(
                "Car {}, {}{label}{title}: {state}",
                one.at.car, one.at.position
            ),
            without: link.without(one),
            record: one
                .state
                .map(|state| address::record_as(&one.at, state.name())),
        }
    };
    link.supposed.iter().map(row).collect()
}
