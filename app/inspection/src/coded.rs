//! One macro for short code lists: an enum whose variants carry the text that is stored and compared.

/// Defines an enum with a `code()` text, `Display`, `FromStr` and serde by that text.
macro_rules! coded {
    ($(#[$meta:meta])* $name:ident { $($(#[$vmeta:meta])* $variant:ident = $code:literal,)+ }) => {
        $(#[$meta])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum $name { $($(#[$vmeta])* $variant,)+ }

        impl $name {
            /// Every member, in the order of the list.
            pub const ALL: &'static [Self] = &[$(Self::$variant,)+];

            /// The text that is stored, sent and compared.
            pub const fn code(self) -> &'static str {
                match self { $(Self::$variant => $code,)+ }
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(self.code())
            }
        }

        impl std::str::FromStr for $name {
            type Err = $crate::InspectionError;

            fn from_str(text: &str) -> Result<Self, Self::Err> {
                Self::ALL.iter().copied().find(|m| m.code() == text).ok_or_else(|| {
                    $crate::InspectionError::unknown(stringify!($name), text)
                })
            }
        }

        impl serde::Serialize for $name {
            fn serialize<S: serde::Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
                to.serialize_str(self.code())
            }
        }

        impl<'de> serde::Deserialize<'de> for $name {
            fn deserialize<D: serde::Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
                let text = <String as serde::Deserialize>::deserialize(from)?;
                text.parse().map_err(serde::de::Error::custom)
            }
        }
    };
}

pub(crate) use coded;
