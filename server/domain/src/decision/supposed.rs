//! What is supposed of a train, in the words of whoever asks: `4101:=BS1-QM1:closed_vented`.

use super::TrainCar;
use crate::circuit::Behaviour;
use crate::configuration::component::PositionRef;
use crate::identity::{CarNumber, PositionCode};
use crate::isolation::CutOutState;
use crate::isolation::isolable::Isolable;
use crate::unreadable::Unreadable;
use std::fmt;
use std::str::FromStr;

/// The most positions that a question may suppose something of.
pub const SUPPOSED_MAX: usize = 100;

/// The word for a position that is cut out and supposed not to be.
const OPEN: &str = "open";

/// A position supposed to be in a state: cut out in some way, or open and sound again.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Supposed {
    /// Where.
    pub at: PositionRef,
    /// In which state; none to suppose that what is cut out there is not.
    pub state: Option<CutOutState>,
}

impl Supposed {
    /// The word for its state.
    pub fn state_name(&self) -> &'static str {
        self.state.map_or(OPEN, CutOutState::name)
    }

    /// Checks that the train has the car, and that the position can be in that state there.
    pub fn check_in(&self, cars: &[TrainCar]) -> Result<(), Unreadable> {
        let refuse = |expected: String| Unreadable::new("supposition", &self.to_string(), expected);
        let Some(car) = cars.iter().find(|car| car.number == self.at.car) else {
            let cars: Vec<&str> = cars.iter().map(|car| car.number.as_str()).collect();
            let expected = format!("a car of this train: {}", cars.join(", "));
            return Err(refuse(expected));
        };
        let car_type = car.circuit.car_type();
        let mut cut_outs = car.cut_outs.iter();
        let is_cut_out = cut_outs.any(|one| one.position == self.at.position);
        let Some(isolable) = Isolable::at(car_type, &self.at.position) else {
            let (name, revision) = (&car_type.name, &car_type.revision);
            let car = &self.at.car;
            return Err(refuse(format!(
                "a position in the brake circuit or the wheel-slide protection of car {car} \
                 (type {name} revision {revision})"
            )));
        };
        if let Some(expected) = isolable.told_instead(car_type) {
            return Err(refuse(expected));
        }
        let presses = isolable.behaviour.is_some_and(Behaviour::is_actuator);
        match self.state {
            // What presses is neither open nor shut; it may be supposed not to be cut out.
            None if presses && !is_cut_out => Err(refuse(
                "a state of it: a brake that is not cut out is neither open nor closed".to_owned(),
            )),
            Some(state) if !isolable.states().contains(&state) => {
                Err(refuse(format!("one of {}", isolable.states_named())))
            }
            _ => Ok(()),
        }
    }
}

/// Reads several suppositions; of one position the last holds.
pub fn supposed<'a>(texts: impl IntoIterator<Item = &'a str>) -> Result<Vec<Supposed>, Unreadable> {
    let mut all: Vec<Supposed> = Vec::new();
    for text in texts {
        let one: Supposed = text.parse()?;
        match all.iter_mut().find(|other| other.at == one.at) {
            Some(before) => *before = one,
            None => all.push(one),
        }
        if all.len() > SUPPOSED_MAX {
            let expected = format!("suppositions about at most {SUPPOSED_MAX} positions");
            return Err(Unreadable::new("supposition", text, expected));
        }
    }
    Ok(all)
}

/// A car, what a position of it is called, and the word for a state.
fn parts(text: &str) -> Option<(CarNumber, &str, &str)> {
    let (car, rest) = text.split_once(':')?;
    let (position, state) = rest.rsplit_once(':')?;
    Some((car.parse().ok()?, position, state))
}

/// The car and the name of a position of it, where that is another than its code.
pub fn called(text: &str) -> Option<(CarNumber, &str)> {
    let (car, name, _) = parts(text)?;
    name.parse::<PositionCode>().is_err().then_some((car, name))
}

/// The same text with the code of the position, where another of its names is given there. What
/// names no position stays as it is, for whoever reads it to refuse.
pub fn with_codes(
    text: &str,
    code: impl FnOnce(&CarNumber, &str) -> Result<PositionCode, String>,
) -> Result<String, Unreadable> {
    match (called(text), parts(text)) {
        (Some((car, name)), Some((.., state))) => {
            let code = code(&car, name).map_err(|expected| {
                Unreadable::new("supposition", text, format!("for “{name}” {expected}"))
            })?;
            Ok(format!("{car}:{code}:{state}"))
        }
        _ => Ok(text.to_owned()),
    }
}

impl FromStr for Supposed {
    type Err = Unreadable;
    fn from_str(text: &str) -> Result<Self, Unreadable> {
        let states: Vec<&str> = CutOutState::ALL.iter().map(|state| state.name()).collect();
        let expected = || {
            format!(
                "CAR:CODE:STATE as 4101:=BS1-QM1:closed_vented; states are {} and {OPEN}",
                states.join(", ")
            )
        };
        let refuse = || Unreadable::new("supposition", text, expected());
        let (car, position, state) = parts(text).ok_or_else(refuse)?;
        let at = PositionRef {
            car,
            position: position.parse().map_err(|_| refuse())?,
        };
        let state = match state {
            OPEN => None,
            state => Some(state.parse().map_err(|_| refuse())?),
        };
        Ok(Self { at, state })
    }
}

impl fmt::Display for Supposed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let PositionRef { car, position } = &self.at;
        write!(f, "{car}:{position}:{}", self.state_name())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_supposition_reads_back_as_it_is_written() {
        for text in ["4101:=BS1-QM1:closed_vented", "A 1:+B2=BS-V3.1:open"] {
            let read: Supposed = text.parse().expect("a supposition");
            assert_eq!(read.to_string(), text);
        }
    }

    #[test]
    fn another_name_of_a_position_gives_way_to_its_code() {
        let code = |_: &CarNumber, name: &str| match name {
            "label 7" => Ok("=BS1-QM1".parse().expect("a code")),
            _ => Err("a position".to_owned()),
        };
        let named = with_codes("4101:label 7:closed_vented", code);
        assert_eq!(named.as_deref(), Ok("4101:=BS1-QM1:closed_vented"));
        let by_code = "4101:=BS1-QM2:open";
        assert_eq!(with_codes(by_code, code).as_deref(), Ok(by_code));
        let unknown = with_codes("4101:label 8:open", code).expect_err("no name");
        assert!(unknown.to_string().contains("for “label 8” a position"));
    }

    #[test]
    fn what_is_no_supposition_is_refused_with_the_states_there_are() {
        for bad in [
            "",
            "4101",
            "4101:=BS1-QM1",
            "4101:BS1:failed",
            "4101:=BS1:shut",
        ] {
            let why = bad.parse::<Supposed>().expect_err(bad);
            assert!(why.expected.contains("closed_trapped"), "{why}");
        }
    }

    #[test]
    fn of_one_position_the_last_supposition_holds() {
        let read = supposed(["1:=A1:failed", "1:=A2:open", "1:=A1:open"]).expect("readable");
        let texts: Vec<String> = read.iter().map(ToString::to_string).collect();
        assert_eq!(texts, ["1:=A1:open", "1:=A2:open"]);
    }
}
