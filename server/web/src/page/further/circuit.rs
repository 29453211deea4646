//! The circuit of a train: its cars as blocks, one of which is opened and drawn, with what flows
//! in a mode and what is lost, why.

use super::Further;
use super::head::{self, Head};
use super::posed::Posed;
use crate::address::encoded;
use crate::drawing::circuit::{CircuitDrawing, Drawn, Neighbour};
use crate::drawing::train_side::Cock;
use crate::drawing::wheels::CockState;
use crate::frame::Frame;
use crate::page::decision::losses::{self, Besides, LossRow};
use crate::page::decision::positions;
use crate::respond::{PageResult, page};
use askama::Template;
use domain::circuit::state::Impairment;
use domain::circuit::{End, Mode, Place};
use domain::configuration::car::Orientation;
use domain::decision::{CommandedEffect, Question, TrainCar};
use domain::identity::{CarNumber, PositionCode};
use domain::isolation::Supply;
use domain::isolation::cause::Cause;
use domain::isolation::effect::Availability;
use domain::isolation::flow::{CarFlow, Flowing};
use domain::unreadable::Unreadable;
use std::collections::{BTreeMap, BTreeSet};

#[derive(Template)]
#[template(path = "further/circuit.html")]
struct CircuitPage {
    frame: Frame,
    head: Head,
    modes: Vec<Choice>,
    supplies: Vec<Choice>,
    blocks: Vec<Block>,
    opened: Option<Opened>,
    /// What a brake does in the mode.
    does: &'static str,
    /// What the answer is about, in words; empty where there is none.
    about: String,
    losses: Vec<LossRow>,
    /// What is lost besides, though every brake works.
    besides: Vec<Besides>,
    parts: Vec<PartsRow>,
    answered: bool,
}

/// A way to look at the same car.
struct Choice {
    words: String,
    href: String,
    chosen: bool,
}

/// A car of the train.
struct Block {
    number: String,
    car_type: String,
    turned: bool,
    href: String,
    open: bool,
    /// How many of its positions are cut out or supposed to be.
    cut_outs: usize,
    /// How many hold no component.
    vacant: usize,
    /// How many hold an assembly that is incomplete.
    incomplete: usize,
    /// How many of its brakes work; empty where there is no answer or it has none.
    works: String,
    /// `complete` or `lost`.
    class: &'static str,
    drags: usize,
}

/// The car that is drawn.
struct Opened {
    number: String,
    title: String,
    turned: bool,
    drawing: CircuitDrawing,
    /// Positions outside the circuit: code and words.
    outside: Vec<Named>,
}

/// A position by its code and its words; a port has no code.
type Named = (String, String);

/// Parts of the car that lack the same for the same reason.
struct PartsRow {
    parts: Vec<Named>,
    lacks: String,
    why: Vec<String>,
}

/// What the address asks for.
struct Asked<'a> {
    posed: &'a Posed,
    car: usize,
    mode: Mode,
    supply: Supply,
    marked: Option<PositionCode>,
}

pub(super) fn show(head: Head, posed: &Posed) -> PageResult {
    let asked = Asked::read(posed)?;
    let cars = &posed.asking.cars;
    let mut shown = CircuitPage {
        frame: head.frame.clone(),
        head,
        modes: asked.modes(),
        supplies: asked.supplies(),
        blocks: Vec::new(),
        opened: None,
        does: if asked.mode == Mode::Holding {
            "hold"
        } else {
            "work"
        },
        about: String::new(),
        losses: Vec::new(),
        besides: Vec::new(),
        parts: Vec::new(),
        answered: false,
    };
    let mut flow = None;
    if let (Ok(question), Some(car)) = (&posed.asking.question, cars.get(asked.car)) {
        let found = question.flow(&car.number, asked.mode, asked.supply);
        match found.and_then(|flow| Ok((flow, question.unprotected()?))) {
            Ok((found, axles)) => {
                flow = Some(found);
                shown.besides = losses::may_slide(&axles).collect();
            }
            Err(missing) => shown.head = shown.head.lacking(missing),
        }
    }
    shown.blocks = (0..cars.len())
        .map(|place| asked.block(place, flow.as_ref()))
        .collect();
    shown.opened = cars
        .get(asked.car)
        .map(|car| asked.open(car, flow.as_ref()));
    if let Some(flow) = flow {
        shown.about = asked.about(&flow);
        shown.parts = asked.parts(&flow);
        let commanded = CommandedEffect {
            from: flow.from,
            effect: flow.effect,
        };
        shown.losses = losses::rows(cars, std::slice::from_ref(&commanded));
        shown.answered = true;
    }
    page(&shown)
}

impl<'a> Asked<'a> {
    fn read(posed: &'a Posed) -> Result<Self, Unreadable> {
        let cars = &posed.asking.cars;
        let touched = |car: &TrainCar| {
            let mut supposed = posed.link.supposed.iter();
            !car.cut_outs.is_empty() || supposed.any(|one| one.at.car == car.number)
        };
        let place = match posed.extra.read::<CarNumber>("car")? {
            Some(number) => {
                let found = cars.iter().position(|car| car.number == number);
                let all: Vec<&str> = cars.iter().map(|car| car.number.as_str()).collect();
                let expected = || format!("a car of this train: {}", all.join(", "));
                if cars.is_empty() {
                    0
                } else {
                    found.ok_or_else(|| Unreadable::new("car", number.as_str(), expected()))?
                }
            }
            None => cars.iter().position(touched).unwrap_or(0),
        };
        Ok(Self {
            posed,
            car: place,
            mode: posed.extra.read("mode")?.unwrap_or(Mode::Service),
            supply: posed.extra.read("supply")?.unwrap_or(Supply::Now),
            marked: posed.extra.read("position")?,
        })
    }

    /// The address of this page, with the suppositions of an address of the decision.
    fn at(&self, question: &str, place: usize, (mode, supply): (Mode, Supply)) -> String {
        let address = head::address(&self.posed.link, question, Further::CIRCUIT);
        let car = self.posed.asking.cars.get(place);
        let fields = [
            ("car", car.map_or("", |car| car.number.as_str())),
            ("mode", mode.name()),
            ("supply", supply.name()),
        ];
        let fields = fields.map(|(name, value)| format!("{name}={}", encoded(value)));
        let mark = if address.contains('?') { '&' } else { '?' };
        format!("{address}{mark}{}", fields.join("&"))
    }

    fn same(&self, place: usize, view: (Mode, Supply)) -> String {
        self.at(&self.posed.link.same(), place, view)
    }

    fn modes(&self) -> Vec<Choice> {
        let choice = |mode: &Mode| Choice {
            words: mode.to_string(),
            href: self.same(self.car, (*mode, self.supply)),
            chosen: *mode == self.mode,
        };
        Mode::ALL.iter().map(choice).collect()
    }

    fn supplies(&self) -> Vec<Choice> {
        let choice = |supply: &Supply| Choice {
            words: supply_words(*supply).to_owned(),
            href: self.same(self.car, (self.mode, *supply)),
            chosen: *supply == self.supply,
        };
        Supply::ALL.iter().map(choice).collect()
    }

    fn block(&self, place: usize, flow: Option<&CarFlow>) -> Block {
        let car = &self.posed.asking.cars[place];
        let question = self.posed.asking.question.as_ref().ok();
        let impaired = question.map_or_else(Vec::new, Question::impaired);
        let of_car = impaired.iter().filter(|one| one.car == place);
        let (mut cut_outs, mut vacant, mut incomplete) = (0, 0, 0);
        for one in of_car {
            match one.by {
                Impairment::CutOut(_) => cut_outs += 1,
                Impairment::Vacant => vacant += 1,
                Impairment::Incomplete => incomplete += 1,
                Impairment::Emptied => {}
            }
        }
        let tally = flow.and_then(|flow| flow.effect.counts.each_car.get(place));
        let tally = tally.filter(|tally| 0 < tally.total);
        let drags = flow.map_or(0, |flow| {
            let actuators = flow.effect.actuators.iter().filter(|one| one.car == place);
            actuators
                .filter(|one| one.availability == Availability::Dragging)
                .count()
        });
        let car_type = car.circuit.car_type();
        Block {
            number: car.number.to_string(),
            car_type: format!("{} {}", car_type.name, car_type.revision),
            turned: car.orientation == Orientation::Reversed,
            href: self.same(place, (self.mode, self.supply)),
            open: place == self.car,
            cut_outs,
            vacant,
            incomplete,
            works: tally.map_or(String::new(), |tally| {
                format!("{} of {}", tally.available, tally.total)
            }),
            class: match tally {
                Some(tally) if tally.available < tally.total => "lost",
                _ => "complete",
            },
            drags,
        }
    }

    fn open(&self, car: &TrainCar, flow: Option<&CarFlow>) -> Opened {
        let cars = &self.posed.asking.cars;
        let car_type = car.circuit.car_type();
        let alone = std::slice::from_ref(car);
        let kinds = positions::kinds(alone);
        let nodes = positions::nodes(&kinds, alone, &self.posed.link);
        let cocks = positions::buttons(&nodes, &self.posed.link);
        let cock = |cock: Cock| {
            let href = self.at(&cock.href, self.car, (self.mode, self.supply));
            (cock.code.clone(), Cock { href, ..cock })
        };
        let cocks: BTreeMap<PositionCode, Cock> = cocks.into_iter().flatten().map(cock).collect();
        let cause = |cause: &Cause| losses::cause_row(cars, cause).to_string();
        let drawing = CircuitDrawing::new(&Drawn {
            car_type,
            orientation: car.orientation,
            neighbours: [self.car.checked_sub(1), Some(self.car + 1)]
                .map(|place| self.neighbour(place?)),
            flow,
            marked: self.marked.as_ref(),
            cocks: &cocks,
            cause: &cause,
        });
        let described: BTreeSet<&PositionCode> = car_type
            .circuit
            .nodes
            .iter()
            .map(|node| &node.position)
            .collect();
        let outside = car_type
            .positions
            .iter()
            .filter(|p| !described.contains(&p.code));
        Opened {
            number: car.number.to_string(),
            title: format!(
                "{} {}: {}",
                car_type.name, car_type.revision, car_type.title
            ),
            turned: car.orientation == Orientation::Reversed,
            drawing,
            outside: outside
                .map(|p| (p.code.to_string(), p.title.clone()))
                .collect(),
        }
    }

    /// The car at a place beside the one that is drawn, with the pipes at its facing end.
    fn neighbour(&self, place: usize) -> Option<Neighbour> {
        let car = self.posed.asking.cars.get(place)?;
        let is_ahead = place < self.car;
        let facing = match (car.orientation, is_ahead) {
            (Orientation::Forward, true) | (Orientation::Reversed, false) => End::End2,
            (Orientation::Forward, false) | (Orientation::Reversed, true) => End::End1,
        };
        let lines = &car.circuit.car_type().circuit.lines;
        let ports = lines.iter().flat_map(|line| [&line.from, &line.to]);
        let pipes = ports.filter_map(|place| match place {
            Place::Port { end, pipe } if *end == facing => Some(pipe.clone()),
            _ => None,
        });
        let pipes: BTreeSet<String> = pipes.collect();
        Some(Neighbour {
            number: car.number.to_string(),
            href: self.same(place, (self.mode, self.supply)),
            pipes: pipes.into_iter().collect(),
        })
    }

    fn about(&self, flow: &CarFlow) -> String {
        let from = flow.from.as_ref().map_or_else(
            || "which nobody commands".to_owned(),
            |car| format!("commanded from car {car}"),
        );
        format!("{}, {from}, {}", self.mode, supply_words(self.supply))
    }

    /// The parts of the opened car that are lost, without its brakes, by what they lack and why.
    fn parts(&self, flow: &CarFlow) -> Vec<PartsRow> {
        let cars = &self.posed.asking.cars;
        let Some(car) = cars.get(self.car) else {
            return Vec::new();
        };
        let car_type = car.circuit.car_type();
        let is_brake = |code: &PositionCode| {
            let mut actuators = flow.effect.actuators.iter();
            actuators.any(|one| one.car == self.car && one.position == *code)
        };
        let mut groups: BTreeMap<(&[Cause], String), Vec<Named>> = BTreeMap::new();
        for (place, found) in &flow.places {
            let part = match place {
                Place::Position(code) if !is_brake(code) => {
                    let position = car_type.position(code);
                    let title = position.map_or(String::new(), |p| p.title.clone());
                    (code.to_string(), title)
                }
                Place::Port { end, pipe } => {
                    (String::new(), format!("{end}, {}", pipe.replace('_', " ")))
                }
                Place::Position(_) => continue,
            };
            if found.flowing == Flowing::Lost {
                let lacks: Vec<String> = found.lacks.iter().map(ToString::to_string).collect();
                let key = (found.why.as_slice(), lacks.join(", "));
                groups.entry(key).or_default().push(part);
            }
        }
        let words = |cause: &Cause| losses::cause_row(cars, cause).to_string();
        let row = |((why, lacks), parts): ((&[Cause], String), _)| PartsRow {
            parts,
            lacks,
            why: why.iter().map(words).collect(),
        };
        groups.into_iter().map(row).collect()
    }
}

fn supply_words(supply: Supply) -> &'static str {
    match supply {
        Supply::Now => "now, with the air that is stored",
        Supply::Exhausted => "once stored air is used up",
    }
}
