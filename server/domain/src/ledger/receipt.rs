//! What a component brings with it when it comes into the register.

use crate::configuration::certificate::Certificate;
use crate::configuration::component::{ComponentRef, Condition};
use crate::configuration::location::Sent;
use crate::identity::{Batch, LocationName, ModificationState};
use crate::time::Day;
use crate::units::{Amount, ByMeter, Meter};
use serde::{Deserialize, Serialize};

/// What a component brings with it when it comes into the register. What is not known stays
/// unknown and is shown as unknown; it is never taken as zero.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Receipt {
    /// Which component.
    pub component: ComponentRef,
    /// Its condition.
    pub condition: Condition,
    /// Where it is.
    pub location: LocationName,
    /// What is said where it is away: in transit or with a contractor.
    #[serde(flatten)]
    pub sent: Sent,
    /// The day it was made.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub manufactured_on: Option<Day>,
    /// The day of its last overhaul.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub overhauled_on: Option<Day>,
    /// What it has run since it was made, meter by meter.
    #[serde(default, skip_serializing_if = "Brought::is_unknown")]
    pub brought: Brought,
    /// What it has run since its last overhaul, meter by meter.
    #[serde(default, skip_serializing_if = "Brought::is_unknown")]
    pub since_overhaul: Brought,
    /// The certificate that says so.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub certificate: Option<String>,
    /// The modification state on its plate.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub modification: Option<ModificationState>,
    /// The lot that its maker made it in, as its label says.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub batch: Option<Batch>,
    /// The certificate itself, as far as it is copied: what was done, what was not, what is left.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub release: Option<Box<Certificate>>,
    /// How it was seen that it is another component than one of its part in the register whose
    /// serial number differs only in case, blanks and hyphens.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub alike_seen: Option<String>,
}

impl Receipt {
    /// What it ran since its last overhaul where that is more than since it was made, which nothing
    /// can: the name of the field, and both amounts.
    pub fn more_since_overhaul(&self) -> Option<(&'static str, Amount, Amount)> {
        let (made, overhaul) = (self.brought.by_meter(), self.since_overhaul.by_meter());
        let both = |meter: &Meter| Some((*meter, overhaul[*meter]?, made[*meter]?));
        let mut known = Meter::ALL.iter().filter_map(both);
        let more = known.find(|(_, since_overhaul, since_made)| since_made < since_overhaul);
        more.map(|(meter, since_overhaul, since_made)| (field(meter), since_overhaul, since_made))
    }

    /// Whether a certificate came with it.
    pub fn has_papers(&self) -> bool {
        self.certificate_number().is_some()
    }

    /// The number of the certificate that came with it, if one did.
    pub fn certificate_number(&self) -> Option<&str> {
        let copied = self.release.as_ref().map(|release| release.number.as_str());
        copied.or(self.certificate.as_deref())
    }
}

/// Use that a component brought with it, by meter; `None` is unknown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Brought {
    /// Kilometres.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub odometer: Option<Amount>,
    /// Running hours.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub running_hours: Option<Amount>,
    /// Compressor hours.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub compressor_hours: Option<Amount>,
}

impl Brought {
    /// Whether nothing is known.
    pub fn is_unknown(&self) -> bool {
        *self == Self::default()
    }

    /// The same by meter.
    pub fn by_meter(self) -> ByMeter<Option<Amount>> {
        ByMeter {
            odometer: self.odometer,
            running_hours: self.running_hours,
            compressor_hours: self.compressor_hours,
        }
    }
}

const fn field(meter: Meter) -> &'static str {
    match meter {
        Meter::Odometer => "km_since_overhaul",
        Meter::RunningHours => "running_hours_since_overhaul",
        Meter::CompressorHours => "compressor_hours_since_overhaul",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn more(brought: &str, since_overhaul: &str) -> Option<(&'static str, Amount, Amount)> {
        let body = format!(
            r#"{{"component":{{"part":"DV/210","serial":"7"}},"condition":"serviceable",
                "location":"North","brought":{brought},"since_overhaul":{since_overhaul}}}"#
        );
        let receipt: Receipt = serde_json::from_str(&body).expect("a receipt");
        receipt.more_since_overhaul()
    }

    #[test]
    fn what_was_received_without_a_batch_is_written_as_it_was_before_there_were_any() {
        let body = r#"{"component":{"part":"DV/210","serial":"7"},"condition":"serviceable","location":"North"}"#;
        let receipt: Receipt = serde_json::from_str(body).expect("a receipt");
        assert_eq!(receipt.batch, None);
        assert_eq!(serde_json::to_string(&receipt).expect("JSON"), body);
        let with_one = body.replace(r#""North""#, r#""North","batch":"L24-07""#);
        let receipt: Receipt = serde_json::from_str(&with_one).expect("a receipt");
        assert_eq!(
            receipt.batch.as_ref().map(Batch::folded).as_deref(),
            Some("L2407")
        );
        assert_eq!(serde_json::to_string(&receipt).expect("JSON"), with_one);
        let blank = body.replace(r#""North""#, r#""North","batch":" L24-07""#);
        assert!(serde_json::from_str::<Receipt>(&blank).is_err());
    }

    #[test]
    fn nothing_runs_more_since_its_overhaul_than_in_all() {
        let all = r#"{"odometer":1000,"running_hours":500}"#;
        assert_eq!(more(all, r#"{"odometer":1000}"#), None);
        assert_eq!(
            more(all, r#"{"compressor_hours":9000}"#),
            None,
            "not known in all"
        );
        let found = more(all, r#"{"odometer":900,"running_hours":501}"#);
        let expected = ("running_hours_since_overhaul", Amount(501), Amount(500));
        assert_eq!(found, Some(expected));
    }
}
