//! A train with what is cut out, failed or missing in it, and what a venting place empties.
//!
//! What each state does, where it matters counted the worse way:
//!
//! | state | passes | air behind it |
//! | --- | --- | --- |
//! | closed and vented, vacant, incomplete, emptied | nothing | let out |
//! | every other but bypassed | nothing | stays |
//! | reopened, not proven | nothing: as closed with air trapped, until a test | stays |
//! | bypassed: pass, cock, reservoir, any-of | as if sound | stays |
//! | bypassed: source, all-of | nothing, as its command has no effect | stays |
//!
//! A dump valve that is electrically off passes air as if sound.
//!
//! An actuator that is itself impaired neither brakes nor holds, except that a spring-applied
//! one that is vented drags and holds, and one whose air is shut in is as one behind a cock.
//!
//! A brake that an impaired place cuts from air is not counted as applying. A spring that air
//! behind such a place may keep released is not counted as holding, for nobody knows when that
//! air will have leaked away; nor one whose release a bypass may command for ever.
//!
//! A spring released by hand does not hold and is off. One that may apply again by itself once air has
//! come back to it counts as having done so wherever air may be at it: it drags once that air has gone.
//!
//! A vented or vacant place empties what lies downstream of it: along lines, medium by medium,
//! through pipes, filters, hoses, cocks and reservoirs, as far as a check valve, a relay valve
//! or a shuttle valve, and only where no source feeds the pipe by another way. A reservoir so
//! emptied delivers nothing, and stored air that flows into an emptied pipe is lost. Where a
//! closed cock lies between, its air may have been held back or have been let out first: for
//! braking it counts as let out, for keeping springs released as held back. What leaks away at
//! the fed side of an open hole is not computed here; that side counts as plugged. A question about a
//! train tells besides which pipes a missing end of a branch empties.

use super::compiled::{CompiledLine, Role};
use super::delivers::{Air, Delivering, Delivery};
use super::sets::{Impairments, Media, Modes};
use super::train::TrainCircuit;
use crate::configuration::car_type::PositionKind;
use crate::identity::PositionCode;
use crate::isolation::{CutOutState, open_ends};
use crate::worked::{Missing, MissingFact};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Why a position does not do its work.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Impairment {
    /// It is cut out, or has failed.
    CutOut(CutOutState),
    /// No component is fitted there.
    Vacant,
    /// An assembly is fitted there in which something that it needs is missing: it does no more than
    /// nothing would.
    Incomplete,
    /// Its air is let out by an open end of its pipe, or is not counted any more. Nobody recorded that of
    /// it: it follows from what is missing, or from how long nothing has fed it.
    Emptied,
}

/// A position of a train that does not do its work.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Impaired {
    /// The car's place in the train, from 0.
    pub car: usize,
    /// The position.
    pub position: PositionCode,
    /// Why.
    pub by: Impairment,
}

/// A train with what is the matter with it, not yet evaluated. One position may have several
/// impairments; each takes away its part.
#[derive(Debug, Clone)]
pub(crate) struct Marked<'t> {
    train: &'t TrainCircuit,
    impairments: Vec<Impairments>,
    /// The impaired nodes, ascending.
    impaired: Vec<usize>,
    /// Whether nothing passes the node.
    blocked: Vec<bool>,
    /// By which open end each emptied node has lost its air, where that is why.
    open_ends: BTreeMap<usize, usize>,
}

/// A train with its impairments.
#[derive(Debug)]
pub struct TrainState<'t> {
    marked: Marked<'t>,
    /// What is let out for certain.
    emptied: Vec<Media>,
    /// What is let out, or would be if things were closed in another order.
    perhaps_emptied: Vec<Media>,
}

impl TrainCircuit {
    /// The train with nothing cut out and nothing missing.
    pub fn sound(&self) -> TrainState<'_> {
        TrainState::new(Marked::sound(self))
    }

    /// The train with these impairments. A vacant position that the circuit does not name is
    /// without effect; a cut-out there has an effect that nobody described, and so gives no
    /// answer. Linear in nodes and lines.
    pub fn impaired(&self, impaired: &[Impaired]) -> Result<TrainState<'_>, Missing> {
        self.marked(impaired).map(TrainState::new)
    }

    /// The same, not yet evaluated. Linear in nodes.
    pub(crate) fn marked(&self, impaired: &[Impaired]) -> Result<Marked<'_>, Missing> {
        let mut marked = Marked::sound(self);
        let mut missing = Vec::new();
        for one in impaired {
            match self.node(one.car, &one.position) {
                Some(node) => {
                    let with = self.impairments(node, one.by);
                    marked.impairments[node] = marked.impairments[node].and(with);
                    marked.impaired.push(node);
                }
                None => missing.extend(self.not_described(one)),
            }
        }
        if !missing.is_empty() {
            return Err(Missing(missing));
        }
        marked.impaired.sort_unstable();
        marked.impaired.dedup();
        for node in &marked.impaired {
            marked.blocked[*node] = marked.blocks(*node);
        }
        if impaired.iter().any(|one| one.by == Impairment::Emptied) {
            marked.open_ends = open_ends::of_emptied(&marked);
        }
        Ok(marked)
    }

    /// What an impairment does to the air at a node. A dump valve without current passes air as
    /// if it were sound; what is lost is the protection of its axle against sliding.
    pub(crate) fn impairments(&self, node: usize, by: Impairment) -> Impairments {
        let off = Impairment::CutOut(CutOutState::ElectricallyOff);
        if by == off && self.kind(node) == Some(PositionKind::DumpValve) {
            return Impairments::of(Impairment::CutOut(CutOutState::Bypassed));
        }
        Impairments::of(by)
    }

    fn not_described(&self, impaired: &Impaired) -> Option<MissingFact> {
        let Some(car) = self.cars().get(impaired.car) else {
            return Some(MissingFact {
                what: "car".into(),
                of: format!("place {} of the train", impaired.car + 1),
            });
        };
        let car_type = car.circuit.car_type();
        let position = car_type.position(&impaired.position);
        let what = match (position.map(|position| position.kind), impaired.by) {
            // They pass no air; without them the axles have no protection against sliding.
            (Some(kind), _) if kind.is_slide_electronics() => return None,
            (Some(_), Impairment::Vacant | Impairment::Incomplete | Impairment::Emptied) => {
                return None;
            }
            (Some(_), Impairment::CutOut(_)) => "node in the circuit",
            (None, _) => "position",
        };
        let (name, revision) = (&car_type.name, &car_type.revision);
        Some(MissingFact {
            what: what.into(),
            of: format!(
                "car type {name} revision {revision}, position {}",
                impaired.position
            ),
        })
    }
}

impl<'t> Marked<'t> {
    /// With nothing the matter.
    pub(crate) fn sound(train: &'t TrainCircuit) -> Self {
        let nodes = train.roles().len();
        Self {
            train,
            impairments: vec![Impairments::NONE; nodes],
            impaired: Vec::new(),
            blocked: vec![false; nodes],
            open_ends: BTreeMap::new(),
        }
    }

    /// The train.
    pub(crate) fn train(&self) -> &'t TrainCircuit {
        self.train
    }

    /// The same on the same train commanded from elsewhere.
    pub(crate) fn commanded<'o>(&self, train: &'o TrainCircuit) -> Marked<'o>
    where
        't: 'o,
    {
        Marked {
            train,
            ..self.clone()
        }
    }

    pub(crate) fn impairments(&self, node: usize) -> Impairments {
        self.impairments[node]
    }

    /// The impaired nodes, ascending.
    pub(crate) fn impaired(&self) -> &[usize] {
        &self.impaired
    }

    /// Whether nothing passes the node.
    pub(crate) fn is_blocked(&self, node: usize) -> bool {
        self.blocked[node]
    }

    /// The open end by which an emptied node has lost its air, where that is why.
    pub(crate) fn open_end_of(&self, node: usize) -> Option<usize> {
        self.open_ends.get(&node).copied()
    }

    fn blocks(&self, node: usize) -> bool {
        let commands = matches!(self.train().roles()[node], Role::Source(_) | Role::AllOf(_));
        let bypassed = self.impairments[node].meets(Impairments::BYPASSED);
        self.impairments[node].meets(Impairments::STOPS) || commands && bypassed
    }

    /// Whether air from a position reaches a valve or an actuator.
    pub(crate) fn feeds(&self, car: usize, position: &PositionCode) -> bool {
        let Some(node) = self
            .train
            .node(car, position)
            .filter(|n| !self.is_blocked(*n))
        else {
            return false;
        };
        let mut seen = vec![false; self.impairments.len()];
        let mut open = vec![node];
        while let Some(node) = open.pop() {
            for line in self.train.lines_from(node) {
                if !self.train.roles()[line.to].is_pipe() {
                    return true;
                }
                if !seen[line.to] && !self.is_blocked(line.to) {
                    seen[line.to] = true;
                    open.push(line.to);
                }
            }
        }
        false
    }
}

impl<'t> TrainState<'t> {
    /// Evaluates what is let out. Linear in nodes and lines.
    pub(crate) fn new(marked: Marked<'t>) -> Self {
        let nodes = marked.impairments.len();
        let mut state = Self {
            marked,
            emptied: vec![Media::NONE; nodes],
            perhaps_emptied: vec![Media::NONE; nodes],
        };
        state.empty();
        state
    }

    /// The train.
    pub fn train(&self) -> &'t TrainCircuit {
        self.marked.train
    }

    /// What is the matter.
    pub(crate) fn marked(&self) -> &Marked<'t> {
        &self.marked
    }

    pub(crate) fn impairments(&self, node: usize) -> Impairments {
        self.marked.impairments(node)
    }

    /// The impaired nodes, ascending.
    pub(crate) fn impaired(&self) -> &[usize] {
        self.marked.impaired()
    }

    /// Whether nothing passes the node.
    pub(crate) fn is_blocked(&self, node: usize) -> bool {
        self.marked.is_blocked(node)
    }

    /// What is let out at a node, when air is counted so.
    pub(crate) fn emptied(&self, node: usize, air: Air) -> Media {
        match air {
            Air::FromSources | Air::Stored => self.perhaps_emptied[node],
            Air::Retained => self.emptied[node],
        }
    }

    /// Finds what the vented places empty.
    fn empty(&mut self) {
        let vents = |node: &&usize| self.impairments(**node).meets(Impairments::VENTS);
        let vented: Vec<usize> = self.impaired().iter().filter(vents).copied().collect();
        if vented.is_empty() {
            return;
        }
        let may = |line: &CompiledLine| self.may_be_emptied(line.to);
        let does = |line: &CompiledLine| self.is_emptied(line.to);
        // Mostly a cock is all that feeds what lies behind it.
        let behind = self.downstream(&vented, may, None);
        let (perhaps, surely) = if self.may_be_fed(&behind) {
            let fed = Delivery::new(self, Modes::ALL, Air::FromSources);
            let downstream =
                |leads: &dyn Fn(&CompiledLine) -> bool| self.downstream(&vented, leads, Some(&fed));
            (downstream(&may), downstream(&does))
        } else {
            let surely = self.downstream(&vented, does, None);
            (behind, surely)
        };
        (self.perhaps_emptied, self.emptied) = (perhaps, surely);
    }

    /// Whether a line leads into some air from elsewhere, past nothing that blocks it.
    fn may_be_fed(&self, emptied: &[Media]) -> bool {
        let unblocked = (0..emptied.len()).filter(|node| !self.is_blocked(*node));
        let mut lines = unblocked.flat_map(|node| self.train().lines_from(node));
        lines.any(|line| {
            let from_elsewhere = emptied[line.to].without(emptied[line.from]);
            !from_elsewhere.within(line.media).is_empty()
        })
    }

    /// Whether a vent upstream surely empties the node.
    fn is_emptied(&self, node: usize) -> bool {
        let role = self.train().roles()[node];
        let passes = matches!(role, Role::Pass | Role::Reservoir) && !self.is_blocked(node);
        passes && !self.only_shows(node)
    }

    /// Whether a vent upstream may empty the node: it also may through a closed cock that was
    /// closed later, and through a check valve that does not do its work.
    fn may_be_emptied(&self, node: usize) -> bool {
        match self.train().roles()[node] {
            Role::Pass => !self.only_shows(node),
            Role::Reservoir => true,
            Role::CheckValve => self.impairments(node) != Impairments::NONE,
            _ => false,
        }
    }

    /// Whether the node is a sound dead end: it has what is brought to it and holds nothing back.
    fn only_shows(&self, node: usize) -> bool {
        let sound = self.impairments(node) == Impairments::NONE;
        sound && self.train().roles()[node] == Role::Pass && self.train().is_dead_end(node)
    }

    /// What is emptied downstream of the vented nodes, along lines that lead to a node of the
    /// kind asked for, and where no source feeds it.
    fn downstream(
        &self,
        vented: &[usize],
        leads: impl Fn(&CompiledLine) -> bool,
        fed: Option<&Delivery<'_>>,
    ) -> Vec<Media> {
        let mut emptied = vec![Media::NONE; self.train().roles().len()];
        let mut open: Vec<(usize, Media)> = vented.iter().map(|n| (*n, Media::AIR)).collect();
        while let Some((node, media)) = open.pop() {
            let lines = self.train().lines_from(node).iter();
            for line in lines.filter(|line| leads(line)) {
                let to = line.to;
                let fed = fed.map_or(Media::NONE, |fed| fed.media(to));
                let unfed = media.within(line.media).without(fed);
                let more = unfed.without(emptied[to]);
                if !more.is_empty() {
                    emptied[to] = emptied[to].and(more);
                    open.push((to, more));
                }
            }
        }
        emptied
    }
}
