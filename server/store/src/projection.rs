//! The projections as tables of plain values: emptied for a rebuild, and compared row by row.

use crate::column::{At, On};
use crate::connect::{Tx, on};
use crate::error::StoreError;
use futures_util::StreamExt;
use futures_util::stream::BoxStream;
use sqlx::{AssertSqlSafe, Row};

/// What a column holds.
#[derive(Debug, Clone, Copy)]
enum Holds {
    Text,
    Whole,
    Small,
    Day,
    Moment,
}

/// A projection: its name, its key and its columns.
pub(crate) struct Projection {
    pub(crate) name: &'static str,
    key: &'static str,
    columns: &'static [(&'static str, Holds)],
}

use Holds::{Day, Moment, Small, Text, Whole};

/// All projections; each only refers to those before it.
pub(crate) const PROJECTIONS: &[Projection] = &[
    Projection {
        name: "document",
        key: "seq",
        columns: &[
            ("seq", Whole),
            ("effective_at", Moment),
            ("kind", Text),
            ("name", Text),
            ("revision", Text),
            ("body", Text),
        ],
    },
    Projection {
        name: "unit",
        key: "id",
        columns: &[
            ("id", Whole),
            ("number", Text),
            ("formed_by", Whole),
            ("formed_at", Moment),
        ],
    },
    Projection {
        name: "car",
        key: "id",
        columns: &[
            ("id", Whole),
            ("number", Text),
            ("vehicle_number", Text),
            ("car_type", Text),
            ("revision", Text),
            ("fleet", Text),
            ("depot", Text),
            ("entered_service_on", Day),
            ("unit_number", Text),
            ("unit_place", Small),
            ("unit_orientation", Text),
        ],
    },
    Projection {
        name: "train",
        key: "id",
        columns: &[
            ("id", Whole),
            ("name", Text),
            ("formed_by", Whole),
            ("formed_at", Moment),
            ("formation", Text),
        ],
    },
    Projection {
        name: "train_car",
        key: "train_id, place",
        columns: &[
            ("train_id", Whole),
            ("place", Small),
            ("car_number", Text),
            ("orientation", Text),
        ],
    },
    Projection {
        name: "component",
        key: "id",
        columns: &[
            ("id", Whole),
            ("part", Text),
            ("serial", Text),
            ("folded", Text),
            ("received_at", Moment),
            ("condition", Text),
            ("location", Text),
            ("since", Moment),
            ("since_by", Whole),
            ("manufactured_on", Day),
            ("overhauled_on", Day),
            ("brought_odometer", Whole),
            ("brought_running_hours", Whole),
            ("brought_compressor_hours", Whole),
            ("overhaul_odometer", Whole),
            ("overhaul_running_hours", Whole),
            ("overhaul_compressor_hours", Whole),
            ("certificate", Text),
            ("modification_state", Text),
        ],
    },
    Projection {
        name: "component_state",
        key: "component_id, recorded_by",
        columns: &[
            ("component_id", Whole),
            ("recorded_by", Whole),
            ("since", Moment),
            ("whereabouts", Text),
            ("location", Text),
            ("condition", Text),
            ("modification_state", Text),
        ],
    },
    Projection {
        name: "fitment",
        key: "id, known_from",
        columns: &[
            ("id", Whole),
            ("known_from", Moment),
            ("known_until", Moment),
            ("component_id", Whole),
            ("car_id", Whole),
            ("position", Text),
            ("from_at", Moment),
            ("fitted_by", Whole),
            ("from_location", Text),
            ("until_at", Moment),
            ("removed_by", Whole),
            ("removal_reason", Text),
            ("removed_to", Text),
            ("from_odometer", Whole),
            ("from_running_hours", Whole),
            ("from_compressor_hours", Whole),
            ("until_odometer", Whole),
            ("until_running_hours", Whole),
            ("until_compressor_hours", Whole),
        ],
    },
    Projection {
        name: "inner_fitment",
        key: "id, known_from",
        columns: &[
            ("id", Whole),
            ("known_from", Moment),
            ("known_until", Moment),
            ("component_id", Whole),
            ("host_id", Whole),
            ("position", Text),
            ("from_at", Moment),
            ("fitted_by", Whole),
            ("from_location", Text),
            ("until_at", Moment),
            ("removed_by", Whole),
            ("removal_reason", Text),
            ("removed_to", Text),
        ],
    },
    Projection {
        name: "reading",
        key: "car_id, meter, taken_at",
        columns: &[
            ("car_id", Whole),
            ("meter", Small),
            ("taken_at", Moment),
            ("shown", Whole),
            ("recorded_by", Whole),
        ],
    },
    Projection {
        name: "meter_replacement",
        key: "car_id, meter, replaced_at",
        columns: &[
            ("car_id", Whole),
            ("meter", Small),
            ("replaced_at", Moment),
            ("last_shown", Whole),
            ("first_shown", Whole),
            ("recorded_by", Whole),
        ],
    },
    Projection {
        name: "meter",
        key: "car_id, meter",
        columns: &[
            ("car_id", Whole),
            ("meter", Small),
            ("last_at", Moment),
            ("last_usage", Whole),
            ("last_shown", Whole),
            ("rate_slow", Whole),
            ("rate_likely", Whole),
            ("rate_fast", Whole),
        ],
    },
    Projection {
        name: "work_done",
        key: "recorded_by, task",
        columns: &[
            ("recorded_by", Whole),
            ("task", Text),
            ("component_id", Whole),
            ("subject_car_id", Whole),
            ("done_at", Moment),
            ("car_id", Whole),
            ("odometer", Whole),
            ("running_hours", Whole),
            ("compressor_hours", Whole),
        ],
    },
    Projection {
        name: "test_record",
        key: "id",
        columns: &[
            ("id", Whole),
            ("name", Text),
            ("component_id", Whole),
            ("car_id", Whole),
            ("procedure_code", Text),
            ("revision", Text),
            ("tested_at", Moment),
            ("outcome", Text),
            ("body", Text),
        ],
    },
    Projection {
        name: "proposal",
        key: "id",
        columns: &[
            ("id", Whole),
            ("kind", Text),
            ("proposed_by", Text),
            ("proposed_at", Moment),
            ("outcome", Text),
            ("decided_by", Whole),
        ],
    },
    Projection {
        name: "isolation",
        key: "id",
        columns: &[
            ("id", Whole),
            ("car_id", Whole),
            ("position", Text),
            ("state", Text),
            ("cause", Text),
            ("since", Moment),
            ("not_before", Moment),
            ("ended_at", Moment),
            ("ended_by", Whole),
        ],
    },
    Projection {
        name: "check_confirmed",
        key: "id",
        columns: &[
            ("id", Whole),
            ("isolation_id", Whole),
            ("check_kind", Text),
            ("confirmed_by", Text),
            ("confirmed_at", Moment),
        ],
    },
    Projection {
        name: "decision",
        key: "id",
        columns: &[
            ("id", Whole),
            ("train", Text),
            ("decided_at", Moment),
            ("recorded_by", Text),
            ("body", Text),
            ("void_by", Whole),
            ("void_because", Text),
        ],
    },
    Projection {
        name: "decision_car",
        key: "decision_id, car_number",
        columns: &[("decision_id", Whole), ("car_number", Text)],
    },
    Projection {
        name: "departure",
        key: "car_id, position, from_on",
        columns: &[
            ("car_id", Whole),
            ("position", Text),
            ("from_on", Day),
            ("until_on", Day),
            ("kind", Text),
            ("component_id", Whole),
            ("fleet", Text),
            ("depot", Text),
            ("concession", Text),
            ("covered_until", Day),
        ],
    },
    Projection {
        name: "due",
        key: "subject_id, task",
        columns: &[
            ("subject_id", Whole),
            ("task", Text),
            ("component_id", Whole),
            ("part", Text),
            ("car_id", Whole),
            ("position", Text),
            ("fleet", Text),
            ("depot", Text),
            ("due_on", Day),
            ("early_on", Day),
            ("late_on", Day),
            ("opens_on", Day),
            ("latest_on", Day),
            ("set_by", Text),
            ("lacking", Text),
            ("calendar_opens", Day),
            ("calendar_due", Day),
            ("calendar_latest", Day),
            ("calendar_unknown", Text),
            ("odometer_opens", Whole),
            ("odometer_due", Whole),
            ("odometer_latest", Whole),
            ("odometer_unknown", Text),
            ("running_hours_opens", Whole),
            ("running_hours_due", Whole),
            ("running_hours_latest", Whole),
            ("running_hours_unknown", Text),
            ("compressor_hours_opens", Whole),
            ("compressor_hours_due", Whole),
            ("compressor_hours_latest", Whole),
            ("compressor_hours_unknown", Text),
            ("at_once", Text),
        ],
    },
];

/// One value as text, whatever the database.
macro_rules! value {
    ($row:expr, $place:expr, $holds:expr) => {
        match $holds {
            Holds::Text => $row.try_get::<Option<String>, _>($place)?,
            Holds::Whole => $row
                .try_get::<Option<i64>, _>($place)?
                .map(|v| v.to_string()),
            Holds::Small => $row
                .try_get::<Option<i16>, _>($place)?
                .map(|v| v.to_string()),
            Holds::Day => $row
                .try_get::<Option<On>, _>($place)?
                .map(|v| v.0.to_string()),
            Holds::Moment => $row
                .try_get::<Option<At>, _>($place)?
                .map(|v| v.0.to_string()),
        }
    };
}

/// A row as texts, in the order of the columns.
pub(crate) type PlainRow = Vec<Option<String>>;

impl Projection {
    /// All rows in the order of the key, one at a time.
    pub(crate) fn rows<'t>(
        &'t self,
        tx: &'t mut Tx,
    ) -> BoxStream<'t, Result<PlainRow, sqlx::Error>> {
        let names: Vec<&str> = self.columns.iter().map(|(name, _)| *name).collect();
        let (names, name, key) = (names.join(", "), self.name, self.key);
        let statement = AssertSqlSafe(format!("select {names} from {name} order by {key}"));
        on!(tx, conn => sqlx::query(statement).fetch(conn).map(|row| {
            let row = row?;
            let mut values = Vec::with_capacity(self.columns.len());
            for (place, (_, holds)) in self.columns.iter().enumerate() {
                values.push(value!(row, place, holds));
            }
            Ok(values)
        }).boxed())
    }

    /// Deletes all rows.
    pub(crate) async fn clear(&self, tx: &mut Tx) -> Result<(), StoreError> {
        let statement = format!("delete from {}", self.name);
        on!(tx, conn => sqlx::query(AssertSqlSafe(statement)).execute(conn).await.map(drop))?;
        Ok(())
    }

    /// A row as `column=value` for people.
    pub(crate) fn show(&self, row: &PlainRow) -> String {
        let shown =
            self.columns.iter().zip(row).map(|((name, _), value)| {
                format!("{name}={}", value.as_deref().unwrap_or("nothing"))
            });
        shown.collect::<Vec<_>>().join(" ")
    }
}
