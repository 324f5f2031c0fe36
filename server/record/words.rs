//! The macro behind every closed list of words the register keeps as text (states, kinds, roles).
//! The word kept is stable and plain; the word shown may be reworded without touching a record.

/// Words at the beginning of a sentence.
pub fn capital(words: impl ToString) -> String {
    let words = words.to_string();
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().collect::<String>() + letters.as_str()
    })
}

/// How often something was done, as people say it.
pub fn times(count: u32) -> String {
    match count {
        1 => "once".to_owned(),
        2 => "twice".to_owned(),
        many => format!("{many} times"),
    }
}

/// Makes an enum whose variants are kept as one word and shown as another.
macro_rules! words {
    ($(#[$doc:meta])* $name:ident, $what:literal { $($(#[$vdoc:meta])* $variant:ident: $word:literal, $shown:literal;)+ }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize, serde::Deserialize, sqlx::Type)]
        pub enum $name {
            $(#[doc = $shown] $(#[$vdoc])* #[serde(rename = $word)] #[sqlx(rename = $word)] $variant,)+
        }

        impl $name {
            /// Every word of the list, in the order it is offered.
            pub const ALL: &'static [Self] = &[$(Self::$variant),+];

            /// The word the register keeps.
            pub const fn word(self) -> &'static str {
                match self { $(Self::$variant => $word,)+ }
            }

            /// The word a person reads.
            pub const fn shown(self) -> &'static str {
                match self { $(Self::$variant => $shown,)+ }
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(self.shown())
            }
        }

        impl std::str::FromStr for $name {
            type Err = String;
            fn from_str(text: &str) -> Result<Self, String> {
                Self::ALL
                    .iter()
                    .copied()
                    .find(|one| one.word() == text)
                    .ok_or_else(|| format!("Choose one: {}", $what))
            }
        }
    };
}

pub(crate) use words;

#[cfg(test)]
mod tests {
    use super::times;

    #[test]
    fn a_face_is_skimmed_once_or_twice_and_only_then_so_many_times() {
        assert_eq!(times(1), "once");
        assert_eq!(times(2), "twice");
        assert_eq!(times(3), "3 times");
    }
}
