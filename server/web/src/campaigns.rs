//! Modifications that still concern what a page shows, with their last day.

use crate::address;
use crate::as_at::Speaks;
use domain::configuration::component::PositionRef;
use domain::identity::ModificationNumber;
use domain::ledger::dossier::{ComponentRecord, Concerned, Documents, Fitment, Issued};
use domain::time::{Day, Zone};
use std::collections::BTreeSet;
use std::sync::Arc;
use store::StoreError;
use store::read::View;
use store::read::campaigns::{Campaign, CampaignFilter, OnCars};

/// A modification that is still to be embodied in something.
pub(crate) struct CampaignNote {
    pub(crate) number: ModificationNumber,
    pub(crate) href: String,
    pub(crate) title: String,
    /// The last day by which it is to be embodied everywhere.
    pub(crate) by: Day,
    /// Whether that day is over.
    pub(crate) overdue: bool,
    /// In how much on the page it is to be embodied, where that is not the one thing it shows.
    pub(crate) left: Option<usize>,
}

impl CampaignNote {
    fn new(issued: &Issued, left: Option<usize>, on: Day) -> Self {
        let document = &issued.document;
        Self {
            number: document.number.clone(),
            href: address::modification(&document.number),
            title: document.title.clone(),
            by: document.by,
            overdue: document.by < on,
            left,
        }
    }

    /// Each of some, in their order.
    pub(crate) fn all(campaigns: &[Campaign], on: Day) -> Vec<Self> {
        let campaigns = campaigns.iter();
        campaigns
            .map(|one| Self::new(&one.issued, one.left, on))
            .collect()
    }

    /// Those that concern a component where it is, as it is told. No statement.
    pub(crate) fn of(
        documents: &Documents,
        (record, at): (&ComponentRecord, Option<&PositionRef>),
        (speaks, zone): (&Speaks, &Zone),
    ) -> Vec<Self> {
        let one = Concerned {
            part: &record.component.part,
            condition: record.condition,
            state: record.modification.as_ref(),
            at,
        };
        let moment = speaks.times.effective;
        let on = zone.day_of(moment);
        let issued = documents.campaigns_of(&one, moment).into_iter();
        issued.map(|issued| Self::new(issued, None, on)).collect()
    }

    /// The same of what is at a position.
    pub(crate) fn here(
        documents: &Documents,
        (there, at): (Option<&(Fitment, Option<ComponentRecord>)>, &PositionRef),
        times: (&Speaks, &Zone),
    ) -> Vec<Self> {
        let record = there.and_then(|(_, record)| record.as_ref());
        record.map_or_else(Vec::new, |record| {
            Self::of(documents, (record, Some(at)), times)
        })
    }

    /// Those that concern cars or anything on them now; of a past time none is told. A statement
    /// where any modification was issued.
    pub(crate) async fn on(
        view: &mut View,
        on_cars: OnCars<'_>,
        (speaks, zone): (&Speaks, &Zone),
    ) -> Result<Vec<Self>, StoreError> {
        if speaks.past.is_some() {
            return Ok(Vec::new());
        }
        let now = speaks.times.effective;
        let campaigns = view.campaigns_on(on_cars, now).await?;
        Ok(Self::all(&campaigns, zone.day_of(now)))
    }
}

/// How far modifications have come.
#[derive(Debug, Default)]
pub(crate) struct HowFar {
    /// Those that are not embodied everywhere.
    left: BTreeSet<ModificationNumber>,
    /// Those in whose scope nothing in the register is: of these nobody knows that they are done.
    empty: BTreeSet<ModificationNumber>,
}

/// How a modification stands, whatever its last day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Embodied {
    /// Not everywhere.
    NotYet,
    /// Everywhere.
    Everywhere,
    /// Nothing in the register is in its scope.
    NothingInScope,
}

impl HowFar {
    /// How one has come.
    pub(crate) fn of(&self, number: &ModificationNumber) -> Embodied {
        if self.left.contains(number) {
            Embodied::NotYet
        } else if self.empty.contains(number) {
            Embodied::NothingInScope
        } else {
            Embodied::Everywhere
        }
    }
}

impl Embodied {
    /// Of one, by how many are in its scope and in how many it is embodied.
    pub(crate) fn counted(all: i64, done: i64) -> Self {
        match all {
            0 => Self::NothingInScope,
            all if done < all => Self::NotYet,
            _ => Self::Everywhere,
        }
    }
}

/// How far the modifications have come; of a past time it is not told. One statement for each hundred
/// that were issued, and another for those of which nothing is left.
pub(crate) async fn how_far(
    view: &mut View,
    speaks: &Speaks,
) -> Result<Option<HowFar>, StoreError> {
    if speaks.past.is_some() {
        return Ok(None);
    }
    let now = speaks.times.effective;
    let issued = view.documents.modifications_issued(now);
    let Some(until) = issued.map(|issued| issued.document.by).max() else {
        return Ok(Some(HowFar::default()));
    };
    let everywhere = CampaignFilter {
        fleet: None,
        depot: None,
        part: None,
        place: None,
        until,
    };
    let left = view.campaigns_until(everywhere, now).await?.into_iter();
    let left: BTreeSet<_> = left.map(|one| one.issued.document.number).collect();
    let documents = Arc::clone(&view.documents);
    let issued = documents.modifications_issued(now);
    let issued = issued.map(|issued| &issued.document);
    let done: Vec<_> = issued.filter(|one| !left.contains(&one.number)).collect();
    let empty = view.with_nothing_in_scope(&done).await?;
    Ok(Some(HowFar { left, empty }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_nothing_is_in_the_scope_of_is_not_embodied_everywhere() {
        assert_eq!(Embodied::counted(0, 0), Embodied::NothingInScope);
        assert_eq!(Embodied::counted(2, 1), Embodied::NotYet);
        assert_eq!(Embodied::counted(2, 2), Embodied::Everywhere);
    }
}
