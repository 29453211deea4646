//! One entry: who recorded what, when and why, and which entries correct it.

use super::{correct, number};
use crate::consequences::Consequences;
use crate::fact::{self, FactRow};
use crate::failure::Failure;
use crate::form::{FieldErrors, Fields, new_command};
use crate::frame::Frame;
use crate::holds::HoldNote;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::show::hex;
use crate::sides::{HostSide, told};
use crate::state::WebState;
use askama::Template;
use axum::extract::{Path, State};
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::people::{HOLDS_EVIDENCE, roles_for};
use domain::refusal::Refusal;
use std::borrow::Cow;
use std::collections::BTreeMap;
use store::read::View;
use store::read::entries::KeptEntry;

#[derive(Template)]
#[template(path = "ledger/entry.html")]
struct EntryPage {
    frame: Frame,
    seq: i64,
    what: String,
    kind: &'static str,
    actor: String,
    recorded: String,
    effective: String,
    reason: String,
    command: String,
    corrects: Option<i64>,
    corrected_by: Option<i64>,
    rows: Vec<FactRow>,
    /// What it did to each host, where it moved something between positions.
    hosts: Vec<HostSide>,
    /// What it changed beyond what it says, where that is kept.
    changed: Option<Consequences>,
    body: String,
    hash: String,
    last_entry: i64,
    holds: Vec<HoldNote>,
    may_hold: bool,
    form: Option<WithdrawForm>,
    /// Where another is put in its place, where that is done by a form.
    replace: Option<String>,
}

/// The form by which an entry is withdrawn.
struct WithdrawForm {
    command: String,
    reason: String,
    errors: FieldErrors,
    refusal: Option<(String, Option<i64>)>,
    consequences: Option<Consequences>,
}

/// What became of a withdrawal that was not recorded.
pub(super) struct Tried {
    pub(super) fields: Fields,
    pub(super) errors: FieldErrors,
    pub(super) refusal: Option<Refusal>,
    /// What it changes, to be agreed to.
    pub(super) consequences: Option<Consequences>,
}

/// `GET /ledger/{n}`
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Path(text): Path<String>,
) -> PageResult {
    answer(&state, &signed_in, number(&text)?, None).await
}

/// An entry, or that there is none.
pub(super) async fn kept(state: &WebState, seq: Seq) -> Result<(KeptEntry, View), Failure> {
    let mut view = state.store.view().await?;
    let not_found = || Failure::NotFound {
        what: "entry",
        name: seq.0.to_string(),
    };
    let kept = view.entry(seq).await?.ok_or_else(not_found)?;
    Ok((kept, view))
}

/// The page of an entry, with what was tried on it.
pub(super) async fn answer(
    state: &WebState,
    signed_in: &SignedIn,
    seq: Seq,
    tried: Option<Tried>,
) -> PageResult {
    let (kept, mut view) = kept(state, seq).await?;
    let holds = HoldNote::all(view.holds.of_entry(seq), &state.zone);
    let frame = Frame::new(state, signed_in);
    let KeptEntry {
        entry,
        body,
        hash,
        corrected_by,
        ..
    } = kept;
    let sides = match &entry.fact {
        Fact::Moved { .. } | Fact::Swapped { .. } => view.sides(&[seq]).await?,
        _ => BTreeMap::new(),
    };
    let sides = sides.get(&seq).map_or(&[][..], Vec::as_slice);
    let body = serde_json::from_str(&body)
        .and_then(|value: serde_json::Value| serde_json::to_string_pretty(&value))
        .unwrap_or(body);
    let open = corrected_by.is_none() && holds.is_empty();
    let made_true = made_true(&mut view, &entry.fact).await?;
    page(&EntryPage {
        seq: entry.seq.0,
        what: fact::sentence(&entry.fact, &state.zone),
        kind: entry.fact.kind().name(),
        actor: entry.actor.to_string(),
        recorded: state.zone.exact(entry.recorded_at),
        effective: state.zone.exact(entry.effective_at),
        reason: entry.reason,
        command: entry.command.to_string(),
        corrects: entry.corrects.map(|seq| seq.0),
        corrected_by: corrected_by.map(|seq| seq.0),
        rows: fact::rows(&entry.fact, &state.zone),
        hosts: told(&entry.fact, sides),
        changed: entry
            .consequences
            .map(|told| Consequences::new(&told, &state.zone)),
        body,
        hash: hex(&hash),
        last_entry: view.last_entry,
        may_hold: frame.holds(HOLDS_EVIDENCE),
        form: (open && may_withdraw(&frame, (&entry.fact, &made_true))).then(|| form(tried)),
        replace: replaced_at(&entry.fact, seq)
            .filter(|_| open && frame.holds(roles_for(&entry.fact))),
        holds,
        frame,
    })
}

/// The form that puts another entry in the place of one, for those that have one.
fn replaced_at(fact: &Fact, seq: Seq) -> Option<String> {
    let form = match fact {
        Fact::ComponentReceived(_) => "/components/new",
        Fact::TestRecorded(_) => "/tests/new",
        fact if correct::has_form(fact) => return Some(correct::of_entry(seq)),
        _ => return None,
    };
    Some(format!("{form}?corrects={}", seq.0))
}

/// What became true by a fact. One statement, of an approval alone.
async fn made_true<'f>(view: &mut View, fact: &'f Fact) -> Result<Cow<'f, Fact>, Failure> {
    let Fact::Approved { proposal } = fact else {
        return Ok(Cow::Borrowed(fact));
    };
    let proposed = view.entry(*proposal).await?;
    Ok(match proposed.map(|kept| kept.entry.fact) {
        Some(Fact::Proposed(proposal)) => Cow::Owned(proposal.fact()),
        _ => Cow::Borrowed(fact),
    })
}

/// Of what was approved, the registration of a car alone is withdrawn.
fn may_withdraw(frame: &Frame, (fact, made_true): (&Fact, &Fact)) -> bool {
    (fact.is_correctable() || matches!(made_true, Fact::CarRegistered(_)))
        && frame.holds(roles_for(fact))
        && frame.holds(roles_for(&Fact::Withdrawn))
}

fn form(tried: Option<Tried>) -> WithdrawForm {
    let Some(tried) = tried else {
        return WithdrawForm {
            command: new_command(),
            reason: String::new(),
            errors: FieldErrors::default(),
            refusal: None,
            consequences: None,
        };
    };
    let refusal = tried.refusal.map(|refusal| {
        let against = refusal.conflicting_entry().map(|seq| seq.0);
        (refusal.to_string(), against)
    });
    WithdrawForm {
        command: new_command(),
        reason: tried.fields.text("reason").to_owned(),
        errors: tried.errors,
        refusal,
        consequences: tried.consequences,
    }
}
