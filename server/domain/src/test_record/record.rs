//! Test records: who measured what, when, with which instrument.

use crate::configuration::car_type::LoadState;
use crate::configuration::component::Subject;
use crate::identity::{
    InstrumentNumber, MeasurandName, PersonName, ProcedureCode, Revision, TestRecordId,
};
use crate::test_record::decimal::Decimal;
use crate::time::{Day, Instant};
use serde::{Deserialize, Serialize};

/// What it was measured with.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Instrument {
    /// The instrument.
    pub number: InstrumentNumber,
    /// The last day its calibration was valid at the time of the test. None: not known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub calibrated_until: Option<Day>,
}

/// One measured value, in the unit of its measurand.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct MeasuredValue {
    /// What was measured.
    pub measurand: MeasurandName,
    /// Under which load, where the procedure tells loads apart.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub load: Option<LoadState>,
    /// The value.
    pub value: Decimal,
}

/// Measured values against a procedure. It holds no verdict: that follows from the values and
/// the limits; see [`crate::test_record::verdict::verdict`].
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct TestRecord {
    /// Its identity.
    pub id: TestRecordId,
    /// What was tested.
    pub subject: Subject,
    /// The procedure followed.
    pub procedure: ProcedureCode,
    /// The revision of it whose limits held.
    pub revision: Revision,
    /// When.
    pub at: Instant,
    /// Who measured.
    pub tester: PersonName,
    /// With what.
    pub instrument: Instrument,
    /// The values.
    pub values: Vec<MeasuredValue>,
}
