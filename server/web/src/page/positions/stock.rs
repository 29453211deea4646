//! What could be fitted at a position.

use crate::as_at::Speaks;
use crate::campaigns::CampaignNote;
use crate::failure::Failure;
use crate::state::WebState;
use domain::configuration::car_type::Position;
use domain::configuration::component::PositionRef;
use domain::due::state::Standing;
use domain::identity::PositionCode;
use domain::ledger::dossier::ComponentRecord;
use domain::ledger::entry::Seq;
use std::collections::{BTreeMap, BTreeSet};
use store::read::View;

/// The most components that are offered for a position.
const OFFERED_MAX: usize = 12;

/// What is in stock for a position, and the work that stands on it: what can go on a car first, then
/// what a modification still concerns, then assemblies that lack something.
#[derive(Default)]
pub(super) struct Stock {
    pub(super) components: Vec<ComponentRecord>,
    pub(super) standing: BTreeMap<Seq, Standing>,
    /// Of assemblies the positions inside that must be filled first.
    pub(super) lacking: BTreeMap<Seq, Vec<PositionCode>>,
    /// The modifications that are still to be embodied in a component that comes here.
    campaigns: BTreeMap<Seq, Vec<CampaignNote>>,
}

impl Stock {
    /// For a position at which something could be fitted. Two statements, and one where an approved
    /// part does not go on a car without what is inside it.
    pub(super) async fn of(
        view: &mut View,
        (vacant, at): (Option<&Position>, &PositionRef),
        state: &WebState,
    ) -> Result<Self, Failure> {
        let Some(position) = vacant else {
            return Ok(Self::default());
        };
        let mut components = view.in_stock(&position.approved).await?;
        let lacking = lacking(view, &components).await?;
        let now = Speaks::now(state.now());
        let times = (&now, &state.zone);
        let notes = components.iter().map(|record| {
            let notes = CampaignNote::of(&view.documents, (record, Some(at)), times);
            (record.id, notes)
        });
        let campaigns: BTreeMap<Seq, Vec<CampaignNote>> =
            notes.filter(|(_, notes)| !notes.is_empty()).collect();
        components.sort_by_key(|record| {
            let id = &record.id;
            (lacking.contains_key(id), campaigns.contains_key(id))
        });
        components.truncate(OFFERED_MAX);
        let standing = view.standing_of(&components, state.today()).await?;
        Ok(Self {
            components,
            standing,
            lacking,
            campaigns,
        })
    }

    /// The modifications that are still to be embodied in a component that comes here: whoever fits
    /// it is asked about them.
    pub(super) fn campaigns(&self, record: &ComponentRecord) -> &[CampaignNote] {
        self.campaigns.get(&record.id).map_or(&[], Vec::as_slice)
    }

    /// What an assembly lacks, in words; nothing where it can go on a car.
    pub(super) fn lacks(&self, record: &ComponentRecord) -> Option<String> {
        let codes = self.lacking.get(&record.id)?.iter();
        let codes: Vec<String> = codes.map(ToString::to_string).collect();
        Some(codes.join(", "))
    }
}

/// What components lack inside them, on all levels.
async fn lacking(
    view: &mut View,
    components: &[ComponentRecord],
) -> Result<BTreeMap<Seq, Vec<PositionCode>>, Failure> {
    let nothing = BTreeSet::new();
    let needy = components.iter().filter(|record| {
        let part = view.documents.part(&record.component.part);
        part.is_some_and(|part| !part.positions.is_empty() && !part.lacks(&nothing).is_empty())
    });
    let needy: Vec<Seq> = needy.map(|record| record.id).collect();
    let inside = view.filled_inside(&needy).await?;
    let mut lacking: BTreeMap<Seq, Vec<PositionCode>> = BTreeMap::new();
    for (root, hosts) in inside {
        let lacks = hosts.values().filter_map(|host| {
            let part = view.documents.part(&host.part)?;
            Some(part.lacks(&host.positions))
        });
        let lacks: Vec<PositionCode> = lacks.flatten().collect();
        if !lacks.is_empty() {
            lacking.insert(root, lacks);
        }
    }
    Ok(lacking)
}
