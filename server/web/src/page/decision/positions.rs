//! The positions of a train that can be supposed cut out: buttons on the drawing, and a list for
//! each car.

use super::link::{CLOSE, FORMATION, QuestionLink};
use crate::address;
use crate::drawing::train_side::Cock;
use crate::drawing::wheels::CockState;
use domain::configuration::car_type::{CarType, Position};
use domain::configuration::component::PositionRef;
use domain::decision::{Supposed, TrainCar};
use domain::isolation::CutOutState;
use domain::isolation::isolable::Isolable;

/// The most characters of a name on a button.
const LABEL_MAX_CHARS: usize = 3;

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

/// A position that can be cut out, as it stands in the question.
struct Node<'a> {
    car: &'a TrainCar,
    isolable: Isolable<'a>,
    recorded: Option<CutOutState>,
    supposed: Option<&'a Supposed>,
}

fn nodes<'a>(car: &'a TrainCar, link: &'a QuestionLink) -> Vec<Node<'a>> {
    let node = |isolable: Isolable<'a>| {
        let code = &isolable.position.code;
        let mut cut_outs = car.cut_outs.iter();
        let recorded = cut_outs.find(|cut_out| cut_out.position == *code);
        let at = |one: &&Supposed| one.at.car == car.number && one.at.position == *code;
        Node {
            car,
            isolable,
            recorded: recorded.map(|cut_out| cut_out.state),
            supposed: link.supposed.iter().find(at),
        }
    };
    let isolable = Isolable::all_of(car.circuit.car_type()).into_iter();
    let mut nodes: Vec<Node<'_>> = isolable.map(node).collect();
    nodes.sort_by(|a, b| {
        let along = |node: &Node<'a>| node.isolable.position.along_mm;
        let code = |node: &Node<'a>| &node.isolable.position.code;
        (along(a), code(a)).cmp(&(along(b), code(b)))
    });
    nodes
}

impl Node<'_> {
    fn state(&self) -> CockState {
        let vacant = self.car.vacant.contains(&self.isolable.position.code);
        match (self.supposed.map(|one| one.state), self.recorded) {
            (Some(Some(_)), _) => CockState::Supposed,
            (Some(None), Some(_)) => CockState::SupposedOpen,
            (_, Some(_)) => CockState::CutOut,
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
    fn turned(&self, link: &QuestionLink) -> String {
        let usual = self.isolable.usual();
        match (self.supposed, self.recorded) {
            (Some(one), _) => link.without(one),
            (None, Some(_)) => link.and(self.suppose(None)),
            (None, None) => link.and(self.suppose(Some(usual))),
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

    fn cock(&self, link: &QuestionLink) -> Cock {
        let Position { code, title, .. } = self.isolable.position;
        let turn = match self.state() {
            CockState::Supposed | CockState::SupposedOpen => "take the supposition back",
            CockState::CutOut => "suppose it open",
            CockState::Open | CockState::Vacant => "suppose it cut out",
        };
        Cock {
            code: code.clone(),
            along_mm: self.isolable.position.along_mm,
            state: self.state(),
            label: label(self.car.circuit.car_type(), self.isolable.position),
            title: format!(
                "Car {}, {code}, {title}: {}; {turn}",
                self.car.number,
                self.words()
            ),
            href: self.turned(link),
        }
    }

    fn row(&self) -> CockRow {
        let Position { code, title, .. } = self.isolable.position;
        CockRow {
            id: format!("state-{}-{code}", self.car.number).replace(' ', "_"),
            code: code.to_string(),
            label: label(self.car.circuit.car_type(), self.isolable.position),
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

/// What the label on the car says, where it is short enough for a button; else the last part of
/// the code, or all of it where another position of the car has the same: two cocks of one name
/// would be mistaken for one another.
pub(crate) fn label(car_type: &CarType, position: &Position) -> String {
    let short = short_label(position);
    let mut others = car_type.positions.iter();
    let shared = others.any(|other| other.code != position.code && short_label(other) == short);
    let code = position.code.as_str();
    let whole = code.strip_prefix('=').unwrap_or(code);
    if shared { whole } else { short }.to_owned()
}

fn short_label(position: &Position) -> &str {
    let code = position.code.as_str();
    let product = code.rsplit('-').next().unwrap_or(code);
    label_on_car(position).unwrap_or(product)
}

/// The label that stands on the car; none where no name of the position is as short as one.
pub(crate) fn label_on_car(position: &Position) -> Option<&str> {
    let mut names = position.aliases.iter().map(|alias| alias.name.as_str());
    names.find(|name| name.chars().count() <= LABEL_MAX_CHARS)
}

/// The buttons of each car: its cocks, and whatever else is cut out or supposed to be.
pub(crate) fn buttons(cars: &[TrainCar], link: &QuestionLink) -> Vec<Vec<Cock>> {
    let of_car = |car: &TrainCar| {
        let drawn = |node: &Node<'_>| {
            let touched = node.recorded.is_some() || node.supposed.is_some();
            (node.isolable.is_cock() || touched).then(|| node.cock(link))
        };
        nodes(car, link).iter().filter_map(drawn).collect()
    };
    cars.iter().map(of_car).collect()
}

/// The positions of each car: those listed that someone will want to look at, so that the page
/// does not grow with every car by all of its positions.
pub(crate) fn lists(cars: &[TrainCar], link: &QuestionLink) -> Vec<CarPositions> {
    cars.iter().map(|car| of_car(car, link)).collect()
}

fn of_car(car: &TrainCar, link: &QuestionLink) -> CarPositions {
    let nodes = nodes(car, link);
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
    let shown = link.shown.pairs().into_iter();
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
        let state = one
            .state
            .map_or("open".to_owned(), |state| state.to_string());
        SupposedRow {
            words: format!("Car {}, {}{title}: {state}", one.at.car, one.at.position),
            without: link.without(one),
            record: one
                .state
                .map(|state| address::record_as(&one.at, state.name())),
        }
    };
    link.supposed.iter().map(row).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn labels(aliases: [&[&str]; 2]) -> Vec<String> {
        let position = |code: &str, names: &[&str]| {
            let alias = |name: &&str| json!({"name": name, "source": "car label"});
            let aliases: Vec<_> = names.iter().map(alias).collect();
            json!({"code": code, "title": "cylinder cock", "kind": "isolating_cock",
                "along_mm": 5_000, "approved": [], "aliases": aliases})
        };
        let car_type: CarType = serde_json::from_value(json!({
            "name": "TM-X", "revision": "1", "fleet": "Sedge", "title": "motor car",
            "vehicle_kind": "car", "length_mm": 24_000, "speed_max_km_h": 140,
            "daily_km_max": 1_000, "bogies": [], "masses": [], "braked_weights": [],
            "circuit": {"nodes": [], "lines": []},
            "positions": [position("=BS1-QM1", aliases[0]), position("=BS2-QM1", aliases[1])],
        }))
        .unwrap();
        let positions = car_type.positions.iter();
        positions
            .map(|position| label(&car_type, position))
            .collect()
    }

    #[test]
    fn no_two_positions_of_a_car_bear_one_label() {
        assert_eq!(labels([&["7"], &["8"]]), ["7", "8"]);
        assert_eq!(labels([&["cock 1"], &["cock 2"]]), ["BS1-QM1", "BS2-QM1"]);
        assert_eq!(labels([&["7"], &[]]), ["7", "QM1"]);
        assert_eq!(labels([&["7"], &["7"]]), ["BS1-QM1", "BS2-QM1"]);
    }
}
