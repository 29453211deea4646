//! What stands with due work: what ends on a day, concessions and the last days of modifications, and
//! what is to be judged again. The lines of the files and of the command line alike.

use super::campaigns::campaigns_in;
use super::doubted::doubted_in;
use super::ending::{Ending, ending_in};
use super::lines::HEADER;
use domain::configuration::modification::ModificationScope;
use domain::time::{Day, Instant};
use exchange::output::Cell;
use store::StoreError;
use store::read::View;
use store::read::campaigns::Campaign;
use store::read::doubted::Doubted;
use store::read::due::DueFilter;

/// Something that ends, or is to be judged again.
#[derive(Debug)]
pub struct End {
    on: Day,
    state: String,
    what: String,
    title: String,
    set_by: &'static str,
    limit: String,
    part: Option<String>,
    at: Place,
}

/// Which component it is about, and where that is.
#[derive(Debug, Default)]
struct Place {
    serial: Option<String>,
    car: Option<String>,
    unit: Option<String>,
    position: Option<String>,
    location: Option<String>,
    depot: Option<String>,
}

impl Place {
    fn of(one: &Doubted) -> Self {
        Self {
            serial: Some(one.doubt.component.serial.to_string()),
            car: one.car.as_ref().map(ToString::to_string),
            unit: one.unit.as_ref().map(ToString::to_string),
            position: one.position.as_ref().map(ToString::to_string),
            location: one.location.as_ref().map(ToString::to_string),
            depot: one.depot.as_ref().map(ToString::to_string),
        }
    }

    /// Where the component is, in words; none where that is not a car or a location.
    fn in_words(&self) -> Option<String> {
        match (&self.car, &self.position, &self.location) {
            (Some(car), Some(position), _) => Some(format!("car {car} {position}")),
            (Some(car), None, _) => Some(format!("car {car}")),
            (None, _, location) => location.clone(),
        }
    }
}

/// What ends at the place that a list looks at and by its day, and what is to be judged again there, by
/// date. Three statements at most.
pub async fn ends(view: &mut View, due: &DueFilter, now: Instant) -> Result<Vec<End>, StoreError> {
    let concessions = ending_in(view, due).await?;
    let campaigns = campaigns_in(view, due, now).await?;
    let concessions = concessions
        .iter()
        .map(|one| End::of_concession(one, due.today));
    let campaigns = campaigns.iter().map(|one| End::of_campaign(one, due.today));
    let doubted = doubted_in(view, due).await?;
    let doubted = doubted.iter().map(|one| End::of_doubt(one, due.today));
    let mut ends: Vec<End> = concessions.chain(campaigns).chain(doubted).collect();
    ends.sort_by_key(|end| end.on);
    Ok(ends)
}

impl End {
    fn of_concession(one: &Ending, today: Day) -> Self {
        let (record, granted) = (&one.record, &one.record.granted);
        let under = match one.under {
            1 => "1 position is under it".to_owned(),
            under => format!("{under} positions are under it"),
        };
        Self {
            on: record.until(),
            state: record.standing(today).to_string(),
            what: format!("concession {}", granted.number),
            title: granted.reason.clone(),
            set_by: "end of a concession",
            limit: format!("{} on cars {}; {under}", granted.allows, granted.cars),
            part: granted.allows.part().map(ToString::to_string),
            at: Place {
                position: Some(granted.position.to_string()),
                ..Place::default()
            },
        }
    }

    fn of_campaign(one: &Campaign, today: Day) -> Self {
        let document = &one.issued.document;
        let state = if document.by < today {
            "overdue"
        } else {
            "to be embodied"
        };
        let part = match &document.scope {
            ModificationScope::Components { part, .. } => Some(part.to_string()),
            ModificationScope::Cars { .. } => None,
        };
        let left = match one.left {
            Some(1) => "; left in 1 component or car here".to_owned(),
            Some(left) => format!("; left in {left} components or cars here"),
            None => String::new(),
        };
        Self {
            on: document.by,
            state: state.to_owned(),
            what: format!("modification {}", document.number),
            title: document.title.clone(),
            set_by: "last day of a modification",
            limit: format!("{}{left}", document.scope),
            part,
            at: Place::default(),
        }
    }

    /// It is due at once.
    fn of_doubt(one: &Doubted, today: Day) -> Self {
        Self {
            on: today,
            state: "due".to_owned(),
            what: "judge again".to_owned(),
            title: one.doubt.to_string(),
            set_by: "told only after",
            limit: format!("told by {}", one.raised_by),
            part: Some(one.doubt.component.part.to_string()),
            at: Place::of(one),
        }
    }

    /// The cells of its row, in the columns of due work.
    pub fn cells(&self) -> Vec<Cell> {
        let text =
            |value: Option<&String>| value.map_or(Cell::Empty, |text| Cell::Text(text.clone()));
        let mut line = vec![Cell::Empty; HEADER.len()];
        let told = [
            ("due on", Cell::Day(self.on)),
            ("latest", Cell::Day(self.on)),
            ("state", text(Some(&self.state))),
            ("task", text(Some(&self.what))),
            ("title", text(Some(&self.title))),
            ("set by", Cell::Text(self.set_by.to_owned())),
            ("limit", text(Some(&self.limit))),
            ("part", text(self.part.as_ref())),
            ("serial", text(self.at.serial.as_ref())),
            ("car", text(self.at.car.as_ref())),
            ("unit", text(self.at.unit.as_ref())),
            ("position", text(self.at.position.as_ref())),
            ("location", text(self.at.location.as_ref())),
            ("depot", text(self.at.depot.as_ref())),
        ];
        for (name, cell) in told {
            if let Some(column) = HEADER.iter().position(|column| *column == name) {
                line[column] = cell;
            }
        }
        line
    }

    /// The same as a line of text.
    pub fn line(&self) -> String {
        let Self {
            state,
            what,
            title,
            limit,
            ..
        } = self;
        let on = self.on.to_string();
        let place = self.at.in_words();
        let place = place.map_or(String::new(), |place| format!("  {place}"));
        format!("{on:<10}  {state:<17}  {what}  {title}  {limit}{place}")
    }
}
