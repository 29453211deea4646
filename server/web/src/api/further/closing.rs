//! What to close, for programs.

use super::bodies::{LossesBody, SpotBody};
use super::{posed, position, question};
use crate::api::decided::MissingBody;
use crate::api::problem::Problem;
use crate::state::WebState;
use axum::Json;
use axum::extract::{Query, State};
use domain::decision::RuleSetAnswer;
use domain::decision::further::WhatToClose;
use domain::isolation::closing::{
    ChargedAir, ChargedReservoir, ClosingSet, DeadSection, PipeAir, Side, Spot,
};
use domain::worked::Missing;
use serde::Serialize;
use utoipa::ToSchema;

/// What to close so that a component has no pressure.
#[derive(Debug, Serialize, ToSchema)]
pub(in crate::api) struct ClosingBody {
    /// What is lacking where there is no answer; then there are no sets.
    missing: Vec<MissingBody>,
    /// Whether any air comes to the component or from it; else no cock matters.
    carries_air: bool,
    /// Whether the component makes pressure of itself and must be switched off besides.
    makes_pressure: bool,
    /// Sources of air with no cock between them and the component, for which no set of cocks is
    /// enough: the sets are those with these switched off besides.
    without_cock: Vec<SpotBody>,
    /// Where there is no set at all: the reservoirs to be emptied.
    to_empty: Vec<ReservoirBody>,
    /// Every smallest set of cocks, that which takes the least braked weight first; where one leaves
    /// a reservoir to be drained, also every smallest set that keeps stored air off too.
    sets: Vec<SetBody>,
    /// Where not all sets are listed: up to how many cocks in a set they all are.
    complete_to: Option<usize>,
    /// Where not all sets that need no reservoir drained are listed: up to how many cocks in a set
    /// they all are.
    sparing_complete_to: Option<usize>,
    /// Whether nothing but stored air presses there as the train stands. The set without a cock
    /// drains it.
    only_drains: bool,
}

/// A set of cocks.
#[derive(Debug, Serialize, ToSchema)]
struct SetBody {
    /// The cocks.
    cocks: Vec<CockBody>,
    /// What closing them and draining the reservoirs takes.
    losses: LossesBody,
    /// What each rule set then says; only for the first sets, else empty.
    verdicts: Vec<SaysBody>,
    /// Reservoirs that stay charged on the side of the component.
    reservoirs: Vec<ReservoirBody>,
    /// The pipe at each side of the component. Each has to be proved to be without pressure.
    sections: Vec<SectionBody>,
    /// Valves that alone keep air back, by having no command.
    rests_on: Vec<SpotBody>,
}

/// A cock to be closed.
#[derive(Debug, Serialize, ToSchema)]
struct CockBody {
    /// Where.
    #[serde(flatten)]
    at: SpotBody,
    /// The state that closing it leaves.
    #[schema(example = "closed_vented")]
    state: &'static str,
}

/// Pipe at a side of the component.
#[derive(Debug, Serialize, ToSchema)]
struct SectionBody {
    /// `whole` where the component is pipe itself, `inlet` or `outlet`.
    side: &'static str,
    /// The name of the inlet.
    input: Option<String>,
    /// What the pipe carries.
    #[schema(example = "main_air")]
    medium: &'static str,
    /// Whether air stays in it until it is let out.
    air_stays: bool,
    /// Drain cocks on it.
    drains: Vec<SpotBody>,
    /// Test points and gauges, at each of which it is proved to be without pressure.
    proving: Vec<SpotBody>,
}

/// What a rule set says.
#[derive(Debug, Serialize, ToSchema)]
struct SaysBody {
    /// The rule set.
    rule_set: String,
    /// Its revision.
    revision: String,
    /// `may_not_run`, `with_restrictions` or `may_run`; null where there is no verdict.
    permission: Option<&'static str>,
    /// What it says once stored air is used up, where that is something else.
    later: Option<String>,
}

/// A reservoir that stays charged.
#[derive(Debug, Serialize, ToSchema)]
struct ReservoirBody {
    /// Where.
    #[serde(flatten)]
    at: SpotBody,
    /// Its volume in litres.
    volume_l: u32,
    /// `let_out_by_the_cock`, `to_be_drained` or `held_by_a_valve`.
    air: &'static str,
    /// Where it is drained.
    drains: Vec<SpotBody>,
}

/// What to close so that a component can be worked on, with what each set of cocks takes.
#[utoipa::path(
    get,
    path = "/api/v1/closing",
    tag = "trains",
    operation_id = "what_to_close",
    params(
        crate::api::decision::DecisionParams,
        ("car" = String, Query, description = "The car of the component."),
        ("position" = String, Query, description = "Its position, by its code or by any other of its names."),
    ),
    responses(
        (status = 200, description = "Every smallest set of cocks.", body = ClosingBody),
        (status = 404, description = "A train, unit or car is not in the register.", body = Problem, content_type = "application/problem+json"),
        (status = 422, description = "The question cannot be read.", body = Problem, content_type = "application/problem+json"),
    )
)]
pub(in crate::api) async fn what_to_close(
    State(state): State<WebState>,
    Query(query): Query<Vec<(String, String)>>,
) -> Result<Json<ClosingBody>, Problem> {
    let posed = posed(&state, query).await?;
    let at = position(&posed)?;
    let found =
        question(&posed).and_then(|question| question.what_to_close(&at, &posed.rule_sets()));
    Ok(Json(body(found)))
}

fn body(found: Result<WhatToClose, Missing>) -> ClosingBody {
    match found {
        Ok(found) => {
            let mut verdicts = found.verdicts.iter();
            let sets = found.closing.sets.iter();
            ClosingBody {
                missing: Vec::new(),
                carries_air: found.closing.carries_air,
                makes_pressure: found.closing.makes_pressure,
                without_cock: spots(&found.closing.without_cock),
                to_empty: found.closing.to_empty.iter().map(reservoir_body).collect(),
                sets: sets
                    .map(|set| set_body(set, verdicts.next().map_or(&[], Vec::as_slice)))
                    .collect(),
                complete_to: found.closing.complete_to,
                sparing_complete_to: found.closing.sparing_complete_to,
                only_drains: found.closing.only_drains(),
            }
        }
        Err(missing) => ClosingBody {
            missing: MissingBody::all(&missing),
            carries_air: false,
            makes_pressure: false,
            without_cock: Vec::new(),
            to_empty: Vec::new(),
            sets: Vec::new(),
            complete_to: None,
            sparing_complete_to: None,
            only_drains: false,
        },
    }
}

fn spots(spots: &[Spot]) -> Vec<SpotBody> {
    spots.iter().map(SpotBody::from).collect()
}

fn set_body(set: &ClosingSet, verdicts: &[RuleSetAnswer]) -> SetBody {
    let cocks = set.cocks.iter().map(|cock| CockBody {
        at: (&cock.at).into(),
        state: cock.state.name(),
    });
    let says = verdicts.iter().map(|answer| SaysBody {
        rule_set: answer.name.to_string(),
        revision: answer.revision.to_string(),
        permission: answer
            .verdict
            .as_ref()
            .ok()
            .map(|v| v.value.permission.name()),
        later: answer.later_words(),
    });
    SetBody {
        cocks: cocks.collect(),
        losses: (&set.losses).into(),
        verdicts: says.collect(),
        reservoirs: set.charged.iter().map(reservoir_body).collect(),
        sections: set.sections.iter().map(section_body).collect(),
        rests_on: spots(&set.rests_on),
    }
}

fn section_body(section: &DeadSection) -> SectionBody {
    let (side, input) = match &section.side {
        Side::Whole => ("whole", None),
        Side::Inlet(input) => ("inlet", Some(input.clone())),
        Side::Outlet => ("outlet", None),
    };
    SectionBody {
        side,
        input,
        medium: section.medium.name(),
        air_stays: section.air == PipeAir::Stays,
        drains: spots(&section.drains),
        proving: spots(&section.proving),
    }
}

fn reservoir_body(reservoir: &ChargedReservoir) -> ReservoirBody {
    ReservoirBody {
        at: (&reservoir.at).into(),
        volume_l: reservoir.volume_l,
        air: match reservoir.air {
            ChargedAir::LetOutByTheCock => "let_out_by_the_cock",
            ChargedAir::ToBeDrained => "to_be_drained",
            ChargedAir::HeldByAValve => "held_by_a_valve",
        },
        drains: reservoir.drains.iter().map(SpotBody::from).collect(),
    }
}
