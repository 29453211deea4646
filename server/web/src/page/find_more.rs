//! What else a text may name: a part, a component by part and serial number, a concession, a
//! modification, a decision by the code on its sheet, a test record, a location; and a serial number with
//! letters taken for digits.

use super::find::Found;
use crate::address;
use crate::failure::Failure;
use domain::decision::check_code::CheckCode;
use domain::identity::{PartNumber, TestRecordId};
use domain::ledger::dossier::{ComponentRecord, Documents, TestedRecord};
use store::read::View;

/// What a text names by its own name: four statements at most.
pub(super) async fn by_its_own_name(view: &mut View, typed: &str) -> Result<Vec<Found>, Failure> {
    let mut found = Vec::new();
    found.extend(part(&view.documents, typed).map(|part| Found {
        kind: "part",
        name: part.to_string(),
        href: address::stock_of(&part),
        beside: title(&view.documents, &part),
    }));
    found.extend(permissions_and_campaigns(&view.documents, typed));
    if let Ok(code) = typed.parse::<CheckCode>() {
        let decision = view.decision(code.entry).await?;
        let proven = decision.filter(|proven| code.proves(&proven.hash));
        found.extend(proven.map(|_| Found {
            kind: "decision, by the code on its sheet",
            name: code.to_string(),
            href: address::with_query("/check", [("code", code.to_string().as_str())]),
            beside: String::new(),
        }));
    }
    found.extend(test(view, typed).await?.map(|test| Found {
        kind: "test record",
        name: test.record.id.to_string(),
        href: address::test(&test.record.id),
        beside: String::new(),
    }));
    let locations = view.locations().await?;
    let same = |name: &str| name.to_lowercase() == typed.to_lowercase();
    let locations = locations.iter().filter(|name| same(name.as_str()));
    found.extend(locations.map(|name| Found {
        kind: "location",
        name: name.to_string(),
        href: address::location(name),
        beside: String::new(),
    }));
    Ok(found)
}

/// Concessions and modifications of that number, in any case.
fn permissions_and_campaigns(documents: &Documents, typed: &str) -> Vec<Found> {
    let same = |number: &str| number.to_lowercase() == typed.to_lowercase();
    let concessions = documents.concessions.values();
    let concessions = concessions
        .map(|record| &record.granted)
        .filter(|granted| same(granted.number.as_str()))
        .map(|granted| Found {
            kind: "concession",
            name: granted.number.to_string(),
            href: address::concession(&granted.number),
            beside: granted.allows.to_string(),
        });
    let modifications = documents.modifications.values();
    let modifications = modifications
        .map(|issued| &issued.document)
        .filter(|document| same(document.number.as_str()))
        .map(|document| Found {
            kind: "modification",
            name: document.number.to_string(),
            href: address::modification(&document.number),
            beside: document.title.clone(),
        });
    concessions.chain(modifications).collect()
}

/// A test record as typed, or in capitals: a statement at most.
async fn test(view: &mut View, typed: &str) -> Result<Option<TestedRecord>, Failure> {
    if typed.parse::<TestRecordId>().is_err() {
        return Ok(None);
    }
    Ok(view.test_written(typed).await?)
}

/// Components that a text names by part and serial number: a statement at most.
pub(super) async fn by_part_and_serial(
    view: &mut View,
    typed: &str,
) -> Result<Vec<ComponentRecord>, Failure> {
    let Some((part, serial)) = part_and_serial(&view.documents, typed) else {
        return Ok(Vec::new());
    };
    let mut named = view.components_by_serial(serial).await?;
    named.retain(|record| record.component.part == part);
    Ok(named)
}

/// Components whose serial number is what was typed if O stands for 0 and I for 1, or the other
/// way round: two statements at most.
pub(super) async fn misread(view: &mut View, typed: &str) -> Result<Vec<ComponentRecord>, Failure> {
    let mut found = view.components_misread(typed).await?;
    if let Some((part, serial)) = part_and_serial(&view.documents, typed) {
        let mut named = view.components_misread(serial).await?;
        named.retain(|record| record.component.part == part);
        found.extend(named);
    }
    Ok(found)
}

fn title(documents: &Documents, part: &PartNumber) -> String {
    documents
        .part(part)
        .map_or_else(String::new, |part| part.title.clone())
}

/// A part of the catalogue, by its number in any case.
fn part(documents: &Documents, typed: &str) -> Option<PartNumber> {
    let mut numbers = documents.parts.keys();
    let same = |number: &&PartNumber| number.as_str().to_lowercase() == typed.to_lowercase();
    numbers.find(same).cloned()
}

/// A part of the catalogue and what was typed behind it: `C-7 12-001`, with the word `serial`
/// between or without.
fn part_and_serial<'t>(documents: &Documents, typed: &'t str) -> Option<(PartNumber, &'t str)> {
    let blanks = typed.match_indices(char::is_whitespace);
    let mut splits = blanks.map(|(at, _)| typed.split_at(at));
    splits.find_map(|(before, behind)| {
        let part = part(documents, before)?;
        let behind = behind.trim_start();
        let serial = behind.strip_prefix("serial ").unwrap_or(behind);
        Some((part, serial.trim_start()))
    })
}
