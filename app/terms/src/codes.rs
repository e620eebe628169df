//! Short code lists: one macro gives each its code (stored), its words (shown) and its parser.

/// A code that is not on its list.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("“{found}” is not a {list}")]
pub struct UnknownCode {
    /// The list's name in words.
    pub list: &'static str,
    /// What stood there.
    pub found: String,
}

macro_rules! code_list {
    ($(#[$doc:meta])* $name:ident, $list:literal { $($(#[$vdoc:meta])* $variant:ident = $code:literal, $words:literal;)* }) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize)]
        pub enum $name {
            $($(#[$vdoc])* #[serde(rename = $code)] $variant,)*
        }

        impl $name {
            /// Every entry, in the list's order.
            pub const ALL: &'static [Self] = &[$(Self::$variant,)*];

            /// As stored and sent.
            pub const fn code(self) -> &'static str {
                match self { $(Self::$variant => $code,)* }
            }

            /// As read aloud.
            pub const fn words(self) -> &'static str {
                match self { $(Self::$variant => $words,)* }
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(self.words())
            }
        }

        impl std::str::FromStr for $name {
            type Err = $crate::codes::UnknownCode;

            fn from_str(text: &str) -> Result<Self, Self::Err> {
                Self::ALL.iter().copied().find(|v| v.code() == text).ok_or_else(|| {
                    $crate::codes::UnknownCode { list: $list, found: text.to_owned() }
                })
            }
        }
    };
}
pub(crate) use code_list;
