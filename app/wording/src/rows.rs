//! The plain structs that `templates/parts/*.html` render: sentence rows, verbs, figures, reasons, facts, choices.

/// How heavy the margin beside a row is. The word itself ("late", "isolated") must stand in the sentence.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub enum Urgency {
    /// No mark.
    #[default]
    Plain,
    /// Half a mark.
    Soon,
    /// Late or unsafe: a block of ink on the riser.
    Late,
}

impl Urgency {
    /// The class of the list item.
    pub fn class(self) -> &'static str {
        match self {
            Self::Plain => "plain",
            Self::Soon => "soon",
            Self::Late => "late",
        }
    }
}

/// Words that lead somewhere. An empty `href` is printed as bold words.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Link {
    /// What is shown.
    pub text: String,
    /// Where it leads.
    pub href: String,
}

impl Link {
    /// `text` leading to `href`.
    pub fn new(text: impl Into<String>, href: impl Into<String>) -> Self {
        Self {
            text: text.into(),
            href: href.into(),
        }
    }
}

/// An action under a sentence, worded as a verb: "Offer this job".
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Verb {
    /// The words pressed.
    pub label: String,
    /// Where it leads or posts to.
    pub href: String,
    /// Whether it changes something (a one-button form) or only leads somewhere (a link).
    pub posts: bool,
    /// Hidden fields of the form: (name, value), among them the idempotency key.
    pub fields: Vec<(String, String)>,
}

impl Verb {
    /// A verb that leads to another page.
    pub fn link(label: impl Into<String>, href: impl Into<String>) -> Self {
        Self {
            label: label.into(),
            href: href.into(),
            posts: false,
            fields: Vec::new(),
        }
    }

    /// A verb that posts `fields` to `action`.
    pub fn post(
        label: impl Into<String>,
        action: impl Into<String>,
        fields: Vec<(String, String)>,
    ) -> Self {
        Self {
            label: label.into(),
            href: action.into(),
            posts: true,
            fields,
        }
    }
}

/// The figure set apart at the right of a sentence: how late, how much or how likely.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Figure {
    /// "late by 2 h 10 min", "1 in 3", "£412.00".
    pub words: String,
    /// At most five small words under it; may be empty.
    pub small: String,
}

impl Figure {
    /// `words` over `small`.
    pub fn new(words: impl Into<String>, small: impl Into<String>) -> Self {
        Self {
            words: words.into(),
            small: small.into(),
        }
    }
}

/// The reasoning under a figure: facts used, rule in words, who set the rule and when.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Why {
    /// The words that open it; "Why this?" unless another question fits better.
    pub question: String,
    /// One thought a paragraph.
    pub paragraphs: Vec<String>,
    /// Where to read on.
    pub more: Option<Link>,
}

impl Why {
    /// "Why this?" over `paragraphs`.
    pub fn this(paragraphs: Vec<String>) -> Self {
        Self {
            question: "Why this?".into(),
            paragraphs,
            more: None,
        }
    }
}

/// One row of any list: `before` + subject + `sentence`, at most two verbs in sight, one figure.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Row {
    /// Unique on the page; a verb's answer replaces the row of this id.
    pub id: String,
    /// Weight of the margin.
    pub urgency: Urgency,
    /// Hangs before the sentence in timed lists ("12:30"); else empty.
    pub at: String,
    /// Words before the subject; mostly empty.
    pub before: String,
    /// What the sentence speaks of.
    pub subject: Option<Link>,
    /// The rest, beginning with a space or punctuation when a subject precedes it.
    pub sentence: String,
    /// Further paragraphs.
    pub more: Vec<String>,
    /// One verb; a second only where the choice is real.
    pub verbs: Vec<Verb>,
    /// The rest, behind "or …".
    pub others: Vec<Verb>,
    /// The reasoning.
    pub why: Option<Why>,
    /// The figure at the right.
    pub figure: Option<Figure>,
}

impl Row {
    /// A row about `subject`.
    pub fn about(id: impl Into<String>, subject: Link, sentence: impl Into<String>) -> Self {
        Self {
            id: id.into(),
            subject: Some(subject),
            sentence: sentence.into(),
            ..Self::default()
        }
    }

    /// A row without a subject to follow.
    pub fn plain(id: impl Into<String>, sentence: impl Into<String>) -> Self {
        Self {
            id: id.into(),
            sentence: sentence.into(),
            ..Self::default()
        }
    }

    /// With this weight of margin.
    #[must_use]
    pub fn urgency(mut self, urgency: Urgency) -> Self {
        self.urgency = urgency;
        self
    }

    /// With this figure at the right.
    #[must_use]
    pub fn figure(mut self, words: impl Into<String>, small: impl Into<String>) -> Self {
        self.figure = Some(Figure::new(words, small));
        self
    }

    /// With one more verb in sight.
    #[must_use]
    pub fn verb(mut self, verb: Verb) -> Self {
        self.verbs.push(verb);
        self
    }

    /// With one more verb behind "or …".
    #[must_use]
    pub fn other(mut self, verb: Verb) -> Self {
        self.others.push(verb);
        self
    }

    /// With the reasoning.
    #[must_use]
    pub fn why(mut self, why: Why) -> Self {
        self.why = Some(why);
        self
    }

    /// Whether a line of verbs follows the sentence.
    pub fn has_verbs(&self) -> bool {
        !self.verbs.is_empty() || !self.others.is_empty() || self.why.is_some()
    }
}

/// One question a drawing may be shaded by.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ask {
    /// "Where is heat most likely to fail?"
    pub words: String,
    /// Address of the same page shaded so.
    pub href: String,
    /// Whether the page shows this one.
    pub current: bool,
}

/// A name and a value: on a plate, or as a pair on one line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fact {
    /// "Fitted"
    pub name: String,
    /// "some time between 2005 and 2010"
    pub value: String,
    /// Whether it is a serial or lasting number, set in the face that tells 1, I and l apart.
    pub typed: bool,
}

impl Fact {
    /// `name`: `value`, in the text face.
    pub fn new(name: impl Into<String>, value: impl Into<String>) -> Self {
        Self {
            name: name.into(),
            value: value.into(),
            typed: false,
        }
    }

    /// A serial or lasting number.
    pub fn typed(name: impl Into<String>, value: impl Into<String>) -> Self {
        Self {
            typed: true,
            ..Self::new(name, value)
        }
    }
}

/// One of the answers of a form field.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Choice {
    /// Posted.
    pub value: String,
    /// Shown.
    pub label: String,
    /// Small words under it; may be empty.
    pub hint: String,
    /// Whether it is the present answer.
    pub chosen: bool,
}

impl Choice {
    /// `label` posted as `value`.
    pub fn new(value: impl Into<String>, label: impl Into<String>, chosen: bool) -> Self {
        Self {
            value: value.into(),
            label: label.into(),
            hint: String::new(),
            chosen,
        }
    }

    /// With small words under it.
    #[must_use]
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = hint.into();
        self
    }
}
