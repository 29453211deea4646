//! Closed lists of words: each value has one name in files, addresses, answers and entries.

/// Declares an enum whose values have one name each, read and written through that name, and
/// a list of all of them.
macro_rules! word_list {
    (
        $(#[$doc:meta])* $name:ident, $what:literal {
            $($(#[$value_doc:meta])* $value:ident = $text:literal),+ $(,)?
        }
    ) => {
        $(#[$doc])*
        #[derive(
            Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash,
            serde::Serialize, serde::Deserialize,
        )]
        #[serde(try_from = "String", into = "String")]
        pub enum $name {
            $($(#[$value_doc])* $value),+
        }

        impl $name {
            /// All values, in the order of their declaration.
            pub const ALL: &'static [$name] = &[$($name::$value),+];

            /// The name in files, addresses and answers.
            pub const fn name(self) -> &'static str {
                match self { $($name::$value => $text),+ }
            }
        }

        impl std::fmt::Display for $name {
            /// The name with blanks, as people read it.
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(&self.name().replace('_', " "))
            }
        }

        impl std::str::FromStr for $name {
            type Err = $crate::unreadable::Unreadable;
            fn from_str(text: &str) -> Result<Self, Self::Err> {
                Self::ALL.iter().copied().find(|value| value.name() == text).ok_or_else(|| {
                    let names: Vec<&str> = Self::ALL.iter().map(|value| value.name()).collect();
                    $crate::unreadable::Unreadable::new($what, text, format!("one of {}", names.join(", ")))
                })
            }
        }

        impl TryFrom<String> for $name {
            type Error = $crate::unreadable::Unreadable;
            fn try_from(text: String) -> Result<Self, Self::Error> {
                text.parse()
            }
        }

        impl From<$name> for String {
            fn from(value: $name) -> String {
                value.name().to_owned()
            }
        }
    };
}

pub(crate) use word_list;
