//! The page of a component.

use super::again::JudgeAgain;
use super::certified::{self, CertifiedRow, PaperSince};
use super::contents::{self, InsideRow};
use super::due::{self, TaskRow, Where};
use super::evidence::AwaitsHold;
use super::forms;
use super::life;
use super::locations::named;
use super::suspected::Suspected;
use super::used::{self, Host, UsedRow};
use crate::address;
use crate::as_at::{AsAtQuery, PageSpeaks, Speaks};
use crate::campaigns::CampaignNote;
use crate::drawing::life_strip::{Life, LifeStrip};
use crate::entry_form::{EntryForm, ShownRefusal, Tried, left_over};
use crate::failure::Failure;
use crate::frame::Frame;
use crate::holds::HoldNote;
use crate::not_there::no_component;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::sides::Sides;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Path, Query, State};
use domain::configuration::component::ComponentRef;
use domain::configuration::location::{Kept, LocationKind};
use domain::identity::{CarNumber, LocationName, TaskCode};
use domain::ledger::dossier::{
    ComponentRecord, Documents, DoneRecord, Fitment, HoldRecord, TestedRecord,
};
use domain::ledger::reached::HostMeters;
use domain::ledger::standing::CarMeters;
use domain::people::HOLDS_EVIDENCE;
use domain::time::{Instant, Zone};
use std::sync::Arc;
use store::StoreError;
use store::read::View;
use store::read::assemblies::Surroundings;
use store::read::cars::Standings;
use store::read::components::ComponentLife;

#[derive(Template)]
#[template(path = "components/component.html")]
pub(crate) struct ComponentPage {
    frame: Frame,
    speaks: PageSpeaks,
    told: TellsOf,
    /// Components of its part with a serial number that differs too little to be told apart.
    alike: Vec<ComponentRef>,
    part_title: String,
    /// Where it is on a car, if it is.
    fitted: Option<Fitment>,
    /// Of which kind the location is where it is kept, where that was told.
    location_kind: Option<LocationKind>,
    /// By how many days it is overdue, if it is.
    overdue: Option<i64>,
    /// Its own positions and those of what is inside it; none unless it is an assembly.
    inside: Vec<InsideRow>,
    strip: LifeStrip,
    used: Vec<UsedRow>,
    /// What it had run since its overhaul when it came in, as far as that is known.
    since_overhaul: Vec<String>,
    due: Vec<TaskRow>,
    /// What says since its receipt that it is fit for use.
    paper: Option<PaperSince>,
    /// What certificates say is left.
    certified: Vec<CertifiedRow>,
    /// Both sides of the entries that moved it.
    sides: Sides,
    /// Where it was suspected, if it is.
    suspected: Option<Suspected>,
    /// How it came off as evidence, if nobody has held it since.
    awaits_hold: Option<AwaitsHold>,
    tests: Vec<TestedRecord>,
    /// Why it is to be judged again, if it is.
    again: Vec<JudgeAgain>,
    campaigns: Vec<CampaignNote>,
    holds: Vec<HoldNote>,
    may_hold: bool,
    forms: Vec<EntryForm>,
    left_over: Option<ShownRefusal>,
    zone: Zone,
}

/// What was recorded of it, each list with the newest first.
struct TellsOf {
    record: ComponentRecord,
    /// What it is and was inside.
    surroundings: Surroundings,
    fitments: Vec<Fitment>,
    done: Vec<DoneRecord>,
}

/// `GET /components/{part}/{serial}?at=…&known=…`
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Path((part, serial)): Path<(String, String)>,
    Query(query): Query<AsAtQuery>,
) -> PageResult {
    let component = component_ref(&part, &serial)?;
    page(&component_page(&state, &signed_in, (&component, &query), None).await?)
}

/// A component as its address names it.
pub(super) fn component_ref(part: &str, serial: &str) -> Result<ComponentRef, Failure> {
    Ok(ComponentRef {
        part: part.parse()?,
        serial: serial.parse()?,
    })
}

/// A component as its page tells of it, now or then.
pub(crate) struct Told {
    pub(crate) life: ComponentLife,
    /// Where the meters of the car stand that it is on.
    pub(crate) standings: Standings,
    /// The line through its readings, where a window has begun there.
    line: Option<CarMeters>,
    /// The design data by which its work is due.
    pub(crate) documents: Arc<Documents>,
}

impl Told {
    /// Reads it, if the register knows of it.
    pub(crate) async fn read(
        view: &mut View,
        component: &ComponentRef,
        speaks: &Speaks,
    ) -> Result<Option<Self>, StoreError> {
        if let Some(as_at) = speaks.then() {
            let then = view.life_then(component, as_at).await?;
            return Ok(then.map(|then| Self {
                life: then.life,
                standings: then.standings,
                line: then.line,
                documents: then.documents,
            }));
        }
        let Some(life) = view.component(component).await? else {
            return Ok(None);
        };
        let open = life.fitments.iter().find(|fitment| fitment.end.is_none());
        Ok(Some(Self {
            standings: match open {
                Some(fitment) => view.meters(&fitment.at.car).await?,
                None => Vec::new(),
            },
            line: None,
            documents: Arc::clone(&view.documents),
            life,
        }))
    }
}

impl Told {
    /// The meters of the car that it is on.
    fn host(&self, zone: &Zone) -> HostMeters<'_> {
        HostMeters {
            facts: used::facts(&self.standings, zone),
            line: self.line.as_ref(),
        }
    }

    /// The same with the line through the readings of its car, where a window has begun there.
    async fn with_line(mut self, view: &mut View, zone: &Zone) -> Result<Self, StoreError> {
        let mut fitments = self.life.fitments.iter();
        let open = fitments.find(|fitment| fitment.end.is_none());
        let (history, host) = (self.life.history(), self.host(zone));
        let passed = history.is_passed(&self.documents, &host, zone);
        let car = open.map(|fitment| fitment.at.car.clone());
        if let Some(car) = car.filter(|_| passed && self.line.is_none()) {
            self.line = view.line_of(&car).await?;
        }
        Ok(self)
    }

    /// What can be recorded of it now.
    fn forms(
        &self,
        frame: &Frame,
        (holds, locations, again): (&[HoldNote], &[LocationName], &[JudgeAgain]),
        tried: Option<&Tried>,
    ) -> Vec<EntryForm> {
        let life = &self.life;
        let component = &life.record.component;
        let shown = forms::Shown {
            held: !holds.is_empty(),
            released: again.iter().any(|one| one.by_two),
            record: &life.record,
            on_car: life.fitments.iter().any(|fitment| fitment.end.is_none()),
            within: life.surroundings.above.first(),
            vacant: &contents::vacant(&self.documents, component, &life.contents),
            tasks: self.documents.tasks_of_part(&component.part),
            locations,
        };
        shown.forms(frame, tried)
    }
}

/// What the page tells of a past time, and what on it is of now all the same.
const WHAT: (&str, &str) = (
    "what was told of it",
    "The due work of what is inside it, and whether it is to be judged again, is told on the page of now.",
);

/// The page of a component, with a form that was tried and not recorded. Eight statements, one
/// for what is inside an assembly and one where a window has begun; of a past time at most eighteen.
pub(super) async fn component_page(
    state: &WebState,
    signed_in: &SignedIn,
    (component, query): (&ComponentRef, &AsAtQuery),
    tried: Option<&Tried>,
) -> Result<ComponentPage, Failure> {
    let speaks = query.read(state)?;
    let mut view = speaks.view(state).await?;
    let told = Told::read(&mut view, component, &speaks).await?;
    let Some(told) = told else {
        return Err(no_component(&mut view, component).await?);
    };
    let told = told.with_line(&mut view, &state.zone).await?;
    let life = &told.life;
    let mut fitments = life.fitments.iter();
    let fitted = fitments.find(|fitment| fitment.end.is_none()).cloned();
    let of_times = (&speaks, &state.zone);
    let (used, due) = answers(&told, fitted.as_ref(), of_times);
    let frame = Frame::new(state, signed_in);
    let locations = named(&view.documents, state.now());
    let entries = life::entries(&mut view, &life.record, &speaks).await?;
    let own = life.own_fitments();
    let sides = Sides::of_life(component, &own, &entries);
    let on = state.zone.day_of(speaks.times.effective);
    let inside = contents::rows(&told.documents, component, (&life.contents, on));
    let kept = life.record.kept.as_ref();
    let (location_kind, overdue) =
        kept.map_or((None, None), |kept| location(&view, kept, (&speaks, state)));
    let certified = life
        .history()
        .certified(&entries, &told.documents, &state.zone);
    let holds = hold_notes(&mut view, (&told, fitted.as_ref()), of_times).await?;
    let awaits_hold = AwaitsHold::of(&life.record, (&own, &entries), &state.zone);
    let again = JudgeAgain::of(&mut view, component, &speaks).await?;
    let forms = match speaks.past {
        None if awaits_hold.is_none() => told.forms(&frame, (&holds, &locations, &again), tried),
        _ => Vec::new(),
    };
    let at = fitted.as_ref().map(|fitment| &fitment.at);
    let campaigns = CampaignNote::of(&told.documents, (&life.record, at), of_times);
    Ok(ComponentPage {
        left_over: left_over(tried, &forms),
        alike: life.alike.clone(),
        may_hold: speaks.past.is_none() && frame.holds(HOLDS_EVIDENCE),
        frame,
        part_title: part_title(&view, component),
        fitted,
        location_kind,
        overdue,
        inside,
        used,
        suspected: Suspected::of(&life.record, (&own, &sides), &state.zone),
        awaits_hold,
        sides,
        due,
        paper: PaperSince::of((component, &entries), &state.zone),
        certified: certified::rows(certified, &state.zone),
        again,
        campaigns,
        holds,
        forms,
        zone: state.zone.clone(),
        strip: strip(&told.life, speaks.times.effective, &state.zone),
        since_overhaul: used::since_overhaul(&told.life.record),
        tests: told.life.tests.clone(),
        told: TellsOf::of(told.life),
        speaks: PageSpeaks::new((query, &speaks), address::component(component), WHAT),
    })
}

impl TellsOf {
    fn of(life: ComponentLife) -> Self {
        let ComponentLife {
            record,
            mut fitments,
            surroundings,
            mut done,
            ..
        } = life;
        fitments.reverse();
        done.reverse();
        Self {
            record,
            surroundings,
            fitments,
            done,
        }
    }
}

fn strip(life: &ComponentLife, now: Instant, zone: &Zone) -> LifeStrip {
    Life {
        record: &life.record,
        fitments: &life.fitments,
        done: &life.done,
        now,
        zone,
    }
    .strip()
}

async fn hold_notes(
    view: &mut View,
    (told, fitted): (&Told, Option<&Fitment>),
    (speaks, zone): (&Speaks, &Zone),
) -> Result<Vec<HoldNote>, StoreError> {
    let on = fitted.map(|fitment| &fitment.at.car);
    let held = (&told.life.record.component, &told.life.surroundings);
    let holds = holds(view, held, (on, speaks)).await?;
    Ok(HoldNote::all(&holds, zone))
}

/// The holds on a component, on what it is inside, and on its car, now or as at a time.
pub(crate) async fn holds(
    view: &mut View,
    (component, surroundings): (&ComponentRef, &Surroundings),
    (on, speaks): (Option<&CarNumber>, &Speaks),
) -> Result<Vec<HoldRecord>, StoreError> {
    let Some(as_at) = speaks.then() else {
        return Ok(view.holds.of_component(component, on).cloned().collect());
    };
    let above = surroundings.above.iter();
    let above = above.filter_map(|place| place.at.assembly());
    let held: Vec<&ComponentRef> = std::iter::once(component).chain(above).collect();
    view.holds_of_components_at((&held, on), as_at).await
}

/// Of which kind a location is, where that was told, and by how many days what is there is
/// overdue, if it is.
fn location(
    view: &View,
    kept: &Kept,
    (speaks, state): (&Speaks, &WebState),
) -> (Option<LocationKind>, Option<i64>) {
    let at = speaks.times.effective;
    let kind = view.documents.location_kind(&kept.location, at);
    let overdue = kept.overdue(state.zone.day_of(at));
    (kind.map(|(kind, _)| kind), overdue)
}

fn part_title(view: &View, component: &ComponentRef) -> String {
    let part = view.documents.part(&component.part);
    part.map_or_else(String::new, |part| part.title.clone())
}

impl ComponentPage {
    /// What certificates say of a task that leaves less than the register finds.
    fn certified_sooner(&self, task: &TaskCode) -> impl Iterator<Item = &CertifiedRow> {
        let sooner = self.certified.iter().filter(|row| row.sooner);
        sooner.filter(|row| row.task == task.as_str())
    }

    /// Of how many statements of certificates the register finds something else.
    fn certified_otherwise(&self) -> usize {
        self.certified.iter().filter(|row| row.differs).count()
    }

    /// How many of its positions are vacant.
    fn vacant(&self) -> usize {
        self.inside.iter().filter(|row| row.holds.is_err()).count()
    }
}

/// What the component has run, and when its work is due: the core's answers.
fn answers(
    told: &Told,
    fitted: Option<&Fitment>,
    (speaks, zone): (&Speaks, &Zone),
) -> (Vec<UsedRow>, Vec<TaskRow>) {
    let at = speaks.times.effective;
    let history = told.life.history();
    let host = fitted.map(|fitment| Host {
        standings: &told.standings,
        since: fitment.from,
    });
    let used = used::rows(&history, host.as_ref(), (at, zone));
    let worked = history.due_worked(&told.documents, &told.host(zone), zone);
    let place = if fitted.is_some() {
        Where::OnCar(&told.standings)
    } else {
        Where::InStore
    };
    let of = due::Of {
        history: &history,
        at,
        zone,
    };
    (used, due::rows(worked, place, of))
}
