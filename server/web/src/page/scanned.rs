//! A component named by its plate, as typed or scanned.

use crate::failure::Failure;
use crate::form::{FieldErrors, Fields};
use domain::configuration::component::ComponentRef;
use domain::identity::{PartNumber, SerialNumber};
use store::read::View;

/// The names of the two fields, and parts to prefer where only a serial number was typed.
pub(crate) struct Plate<'a> {
    pub(crate) part: &'static str,
    pub(crate) serial: &'static str,
    pub(crate) preferred: &'a [PartNumber],
}

impl Plate<'_> {
    /// The component that the plate names. Blanks, hyphens and case of the serial number do not
    /// matter; the part may be left empty where the serial number tells it. A component that
    /// is not in the register is taken as typed, for the register to refuse.
    pub(crate) async fn read(
        &self,
        view: &mut View,
        fields: &Fields,
        errors: &mut FieldErrors,
    ) -> Result<Option<ComponentRef>, Failure> {
        let part: Option<PartNumber> = fields.optional(self.part, errors);
        let serial: Option<SerialNumber> = fields.required(self.serial, errors);
        let Some(serial) = serial else {
            return Ok(None);
        };
        let known = view.components_by_serial(serial.as_str()).await?;
        let mut found: Vec<ComponentRef> = known
            .into_iter()
            .map(|record| record.component)
            .filter(|component| part.as_ref().is_none_or(|part| component.part == *part))
            .collect();
        let one_part = found.windows(2).all(|two| two[0].part == two[1].part);
        if one_part && let Some(exact) = found.iter().position(|found| found.serial == serial) {
            found = vec![found.swap_remove(exact)];
        }
        if found
            .iter()
            .any(|found| self.preferred.contains(&found.part))
        {
            found.retain(|found| self.preferred.contains(&found.part));
        }
        match (found.as_slice(), part) {
            ([one], _) => Ok(Some(one.clone())),
            ([], Some(part)) => Ok(Some(ComponentRef { part, serial })),
            ([], None) => {
                errors.add(self.serial, "no component in the register has this serial number; check the plate, or receive the component first");
                Ok(None)
            }
            (several, _) if one_part => {
                errors.add(self.serial, alike(several));
                Ok(None)
            }
            (several, _) => {
                errors.add(self.part, self.ambiguous(several));
                Ok(None)
            }
        }
    }

    fn ambiguous(&self, several: &[ComponentRef]) -> String {
        let names: Vec<String> = several.iter().map(ToString::to_string).collect();
        let names = names.join("; ");
        if several.iter().any(|one| self.preferred.contains(&one.part)) {
            format!("several components have this serial number: {names}; give the part")
        } else {
            format!("the components with this serial number are of other parts: {names}")
        }
    }
}

fn alike(several: &[ComponentRef]) -> String {
    let names: Vec<String> = several.iter().map(ToString::to_string).collect();
    let names = names.join("; ");
    format!(
        "{names} differ only in case, blanks and hyphens; type the serial number to the letter, and look at both plates"
    )
}
