//! What is inside an assembly, position by position, with what is vacant.

use domain::configuration::component::{ComponentRef, Condition};
use domain::configuration::part::{InnerPosition, LEVELS_MAX, Vacancy};
use domain::due::state::State;
use domain::identity::PositionCode;
use domain::ledger::dossier::Documents;
use domain::time::{Day, Instant};
use store::read::assemblies::Content;

/// A position inside an assembly.
#[derive(Debug)]
pub(super) struct InsideRow {
    /// Its code from the assembly down.
    pub(super) code: String,
    pub(super) title: String,
    /// What is there, or what it means that nothing is.
    pub(super) holds: Result<Held, Vacancy>,
}

/// A component inside an assembly.
#[derive(Debug)]
pub(super) struct Held {
    pub(super) component: ComponentRef,
    pub(super) condition: Condition,
    pub(super) since: Instant,
    /// The worst state of its tasks, and the first of them by date.
    pub(super) due: Option<(State, Option<(String, String)>)>,
}

/// A vacant position of the assembly itself, where something can be fitted.
#[derive(Debug)]
pub(super) struct VacantPlace<'a>(pub(super) &'a InnerPosition);

/// The positions of an assembly and of all that is inside it, each before what is inside it.
pub(super) fn rows(
    documents: &Documents,
    assembly: &ComponentRef,
    (contents, today): (&[Content], Day),
) -> Vec<InsideRow> {
    let mut inside = Inside {
        documents,
        contents,
        today,
        rows: Vec::new(),
    };
    inside.add(assembly, "", 0);
    inside.rows
}

/// The positions of the assembly itself that are vacant.
pub(super) fn vacant<'a>(
    documents: &'a Documents,
    assembly: &ComponentRef,
    contents: &[Content],
) -> Vec<VacantPlace<'a>> {
    let part = documents.part(&assembly.part);
    let positions = part.into_iter().flat_map(|part| &part.positions);
    let free = positions.filter(|position| at(contents, assembly, &position.code).is_none());
    free.map(VacantPlace).collect()
}

fn at<'a>(
    contents: &'a [Content],
    assembly: &ComponentRef,
    code: &PositionCode,
) -> Option<&'a Content> {
    contents.iter().find(|content| {
        let at = &content.fitment.at;
        at.assembly() == Some(assembly) && at.position == *code
    })
}

struct Inside<'a> {
    documents: &'a Documents,
    contents: &'a [Content],
    today: Day,
    rows: Vec<InsideRow>,
}

impl Inside<'_> {
    fn add(&mut self, assembly: &ComponentRef, above: &str, level: usize) {
        let part = self.documents.part(&assembly.part);
        let positions = part.into_iter().flat_map(|part| &part.positions);
        for position in positions.filter(|_| level < LEVELS_MAX) {
            let code = format!("{above}{}", position.code);
            let content = at(self.contents, assembly, &position.code);
            self.rows.push(InsideRow {
                code: code.clone(),
                title: position.title.clone(),
                holds: content
                    .map(|content| held(content, self.today))
                    .ok_or(position.vacancy),
            });
            if let Some(content) = content {
                self.add(&content.fitment.component, &code, level + 1);
            }
        }
    }
}

fn held(content: &Content, today: Day) -> Held {
    let states = content.due.iter().map(|(_, due)| due.state_on(today));
    let first = content.due.first().and_then(|(task, due)| {
        let on = due.on?;
        Some((task.to_string(), on.to_string()))
    });
    Held {
        component: content.fitment.component.clone(),
        condition: content.condition,
        since: content.fitment.from,
        due: states.max().map(|state| (state, first)),
    }
}
