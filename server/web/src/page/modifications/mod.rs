//! Modifications: campaigns, how far each has come by unit, what is left and when it could be
//! done, and embodiments recorded.

pub(crate) mod list;
pub(crate) mod new;
pub(crate) mod one;
