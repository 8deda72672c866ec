//! Forms as people fill them in: labels, what was typed before, and what was wrong with it.
//!
//! A field is called what the entry's own field is called (`value`, `reading.hung`, `weight.LF`),
//! so that a refusal finds the field it is about.

use maud::{Markup, html};

use super::form::Fields;

/// The field that holds a form's number.
pub(super) const ONCE: &str = "once";
/// The button by which a form goes out when a key, and no button, is pressed.
pub(super) const ENTER: &str = "enter";
/// What stands in its place until the page goes out.
pub(super) const ONCE_HERE: &str = "(once-here)";

/// What was wrong, at which field, and what would be right.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Wrong {
    pub(super) field: String,
    pub(super) what: String,
    pub(super) right: String,
}

impl Wrong {
    /// A key was pressed where several buttons could have been meant.
    pub(super) fn by_key() -> Self {
        Self::new(ENTER, "the Enter key writes nothing", "press the button that you mean")
    }

    /// Whether it is about no field that can be typed into.
    fn has_no_field(&self) -> bool {
        ["", ENTER, "go", "happened"].contains(&self.field.as_str())
    }

    /// What is wrong and what would be right, as one piece.
    pub(super) fn words(&self) -> String {
        let right = axlewright_sheets::capital(self.right.trim_end_matches('.'));
        let dot = if right.is_empty() { "" } else { "." };
        format!("Not written: {}. {right}{dot}", self.what)
    }

    pub(super) fn new(field: &str, what: impl Into<String>, right: impl Into<String>) -> Self {
        Self { field: field.to_owned(), what: what.into(), right: right.into() }
    }
}

/// What one form of a screen holds already; the others are empty.
#[derive(Debug, Clone, Default)]
pub(super) struct Fill {
    form: String,
    fields: Fields,
    wrong: Option<Wrong>,
}

impl Fill {
    /// A form that came back.
    pub(super) fn back(form: &str, fields: Fields, wrong: Wrong) -> Self {
        Self { form: form.to_owned(), fields, wrong: Some(wrong) }
    }

    /// A form of which some fields are known beforehand.
    pub(super) fn begun(form: &str, fields: Fields) -> Self {
        Self { form: form.to_owned(), fields, wrong: None }
    }

    /// Why the form came back, and the id of the place that it is about.
    pub(super) fn why_back(&self) -> Option<(&Wrong, String)> {
        let wrong = self.wrong.as_ref()?;
        let field = if wrong.has_no_field() { "wrong" } else { &wrong.field };
        Some((wrong, id_of(&self.form, field)))
    }

    /// The form of that name.
    pub(super) fn of<'a>(&'a self, form: &'a str) -> Typed<'a> {
        let is_it = self.form == form;
        Typed {
            form,
            fields: is_it.then_some(&self.fields),
            wrong: self.wrong.as_ref().filter(|_| is_it),
        }
    }
}

/// One form and what stands in it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Typed<'a> {
    form: &'a str,
    fields: Option<&'a Fields>,
    wrong: Option<&'a Wrong>,
}

/// How a field of text looks.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Look<'a> {
    /// What stands under it.
    pub(super) hint: &'a str,
    /// What stands in it at first.
    pub(super) value: &'a str,
    /// Which keys a telephone shows: `decimal`, `numeric`, `text`.
    pub(super) keys: Option<&'a str>,
    /// Whether a blank needs no remark.
    pub(super) quiet: bool,
    /// Whether it has to be filled in.
    pub(super) needed: bool,
    /// Whether it is a day.
    pub(super) is_day: bool,
}

impl Typed<'_> {
    /// The name under which a device keeps what was typed.
    pub(super) fn key(&self) -> &str {
        self.form
    }

    fn id(&self, name: &str) -> String {
        id_of(self.form, name)
    }

    fn value(&self, name: &str) -> Option<&str> {
        self.fields.and_then(|fields| fields.raw(name))
    }

    /// What stands in a field that a screen sets itself.
    pub(super) fn shown(&self, name: &str) -> &str {
        self.value(name).unwrap_or_default()
    }

    fn is_wrong(&self, name: &str) -> Option<&'static str> {
        self.wrong.filter(|wrong| wrong.field == name).map(|_| "true")
    }

    /// Whether a field that a form seldom has is to be there: it came back for it, or with it.
    pub(super) fn asks_for(&self, name: &str) -> bool {
        self.is_wrong(name).is_some() || self.value(name).is_some()
    }

    fn described(&self, name: &str, hint: &str) -> Option<String> {
        let wrong = self.is_wrong(name).map(|_| self.id("wrong"));
        let hint = (!hint.is_empty()).then(|| self.id(&format!("{name}-hint")));
        let both: Vec<String> = wrong.into_iter().chain(hint).collect();
        (!both.is_empty()).then(|| both.join(" "))
    }

    /// What every form that writes begins with: its number, the button that a key presses, and why
    /// it came back.
    pub(super) fn head(&self) -> Markup {
        html! {
            input type="hidden" name=(ONCE) value=(ONCE_HERE);
            // A browser sends a form by its first button when Enter is pressed in a field, and on a
            // telephone that key is the natural end of typing: this one writes nothing.
            button.enter type="submit" name=(ENTER) value="yes" tabindex="-1" aria-hidden="true"
                formnovalidate { "Enter writes nothing" }
            @if let Some(wrong) = self.wrong {
                p.wrong id=(self.id("wrong")) tabindex="-1" autofocus[wrong.has_no_field()] {
                    (wrong.words())
                }
            }
        }
    }

    /// One line of text.
    pub(super) fn text(&self, name: &str, label: &str, look: Look<'_>) -> Markup {
        let id = self.id(name);
        html! {
            div.field {
                label for=(id) {
                    (label) @if !look.needed && !look.quiet { small { " (if known)" } }
                }
                input type=(if look.is_day { "date" } else { "text" }) id=(id) name=(name)
                    value=(self.value(name).unwrap_or(look.value)) inputmode=[look.keys]
                    required[look.needed] autocomplete="off" maxlength="200"
                    aria-invalid=[self.is_wrong(name)] autofocus[self.is_wrong(name).is_some()]
                    enterkeyhint="next" aria-describedby=[self.described(name, look.hint)];
                (self.hint(name, look.hint))
            }
        }
    }

    /// Several lines of text.
    pub(super) fn area(&self, name: &str, label: &str, look: Look<'_>) -> Markup {
        let id = self.id(name);
        html! {
            div.field {
                label for=(id) { (label) @if !look.needed { small { " (if any)" } } }
                textarea id=(id) name=(name) rows="3" required[look.needed] maxlength="20000"
                    aria-invalid=[self.is_wrong(name)] autofocus[self.is_wrong(name).is_some()]
                    aria-describedby=[self.described(name, look.hint)]
                    { (self.value(name).unwrap_or(look.value)) }
                (self.hint(name, look.hint))
            }
        }
    }

    fn hint(&self, name: &str, hint: &str) -> Markup {
        html! {
            @if !hint.is_empty() { p.hint id=(self.id(&format!("{name}-hint"))) { (hint) } }
        }
    }

    /// One of several words; `none` is what stands there when none is chosen.
    pub(super) fn choice<S: AsRef<str>>(
        &self,
        name: &str,
        label: &str,
        options: &[(S, S)],
        none: Option<&str>,
    ) -> Markup {
        let id = self.id(name);
        let value = self.value(name);
        html! {
            div.field {
                label for=(id) { (label) }
                select id=(id) name=(name) aria-invalid=[self.is_wrong(name)]
                    autofocus[self.is_wrong(name).is_some()]
                    aria-describedby=[self.described(name, "")] {
                    @if let Some(none) = none { option value="" { (none) } }
                    @for (word, said) in options {
                        option value=(word.as_ref()) selected[value == Some(word.as_ref())] {
                            (said.as_ref())
                        }
                    }
                }
            }
        }
    }

    /// The same where each word says itself.
    pub(super) fn words(
        &self,
        name: &str,
        label: &str,
        words: &[&str],
        none: Option<&str>,
    ) -> Markup {
        let options: Vec<(&str, &str)> = words.iter().map(|word| (*word, *word)).collect();
        self.choice(name, label, &options, none)
    }
}

fn id_of(form: &str, name: &str) -> String {
    format!("{form}-{}", name.replace('.', "-"))
}

/// A hidden field.
pub(super) fn hidden(name: &str, value: &str) -> Markup {
    html! { input type="hidden" name=(name) value=(value); }
}
