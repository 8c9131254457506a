//! Phones that may come in: a code for the next one, and each shut out by one touch.

use maud::{Markup, html};

use crate::look::qr::{self, Picture};
use crate::page::{Page, Part, key_field};

/// The page.
pub struct PhonesPage {
    /// Where the network reaches the workbench; none where it does not.
    pub opened: Option<Opened>,
    /// How it stands with the code.
    pub code: Code,
    /// Those that may come in.
    pub phones: Vec<Row>,
    /// Key of the forms.
    pub key: String,
}

/// Where the network reaches the workbench.
pub struct Opened {
    /// The likeliest address.
    pub address: String,
    /// Others.
    pub others: Vec<String>,
    /// Of the certificate, in pairs with colons between them.
    pub fingerprint: String,
}

/// How it stands with the code.
pub enum Code {
    /// None was made.
    None,
    /// One is good.
    Good {
        /// Its digits.
        digits: String,
        /// Address and code for a camera.
        picture: Picture,
        /// For so long still.
        minutes: i64,
    },
    /// It has let this phone in.
    Used(String),
    /// Its time is over.
    Late,
    /// Too many wrong ones came.
    Void,
    /// Far too many wrong ones came.
    Shut,
}

/// A phone.
pub struct Row {
    /// Its identifier.
    pub id: String,
    /// Its name.
    pub name: String,
    /// How long ago it was paired.
    pub paired: String,
    /// How long ago it was here.
    pub seen: Option<String>,
}

impl Page for PhonesPage {
    #[cfg(test)]
    fn samples() -> Vec<(&'static str, PhonesPage)> {
        let opened = || Opened {
            address: "https://192.168.178.20:4718".into(),
            others: vec!["https://10.0.0.3:4718".into()],
            fingerprint: ["A0:0B:C7:1D"; 8].join(":"),
        };
        let good = Code::Good {
            digits: "48217730".into(),
            picture: qr::of("https://192.168.178.20:4718/pair#48217730"),
            minutes: 10,
        };
        let row = |n: usize, name: &str| Row {
            id: format!("p{n}"),
            name: name.into(),
            paired: "3 days ago".into(),
            seen: (n > 0).then(|| "just now".into()),
        };
        let page = |code| PhonesPage {
            opened: Some(opened()),
            code,
            phones: Vec::new(),
            key: "k".into(),
        };
        let long = "<b>bold</b> & forty letters of a name, x";
        vec![
            (
                "closed",
                PhonesPage {
                    opened: None,
                    ..page(Code::None)
                },
            ),
            (
                "closed, with phones",
                PhonesPage {
                    opened: None,
                    phones: vec![row(0, "My phone")],
                    ..page(Code::None)
                },
            ),
            ("no code", page(Code::None)),
            (
                "a code",
                PhonesPage {
                    phones: vec![row(0, "My phone"), row(1, long)],
                    ..page(good)
                },
            ),
            (
                "used",
                PhonesPage {
                    phones: (0..60).map(|n| row(n, long)).collect(),
                    ..page(Code::Used(long.into()))
                },
            ),
            ("late", page(Code::Late)),
            ("void", page(Code::Void)),
            ("shut", page(Code::Shut)),
        ]
    }

    fn title(&self) -> String {
        "Phones".to_owned()
    }

    fn part(&self) -> Part {
        Part::Phones
    }

    fn follows(&self) -> Option<String> {
        Some("phones".to_owned())
    }

    fn render(&self) -> Markup {
        html! {
            h1 { "Phones" }
            @match &self.opened {
                None => {
                    p { "Only this laptop can reach the workbench now. To have a phone beside it, in a network that you trust:" }
                    ol {
                        li { "Stop the workbench (ctrl-c where it was started)." }
                        li { "Start it with " code { "wattwright open --lan" } ", and come back to this page." }
                    }
                }
                Some(opened) => {
                    section #code data-live { (self.code(opened)) }
                    (opened.said())
                }
            }
            section #phones data-live { (self.list()) }
            h2 { "What a phone may do" }
            p { "It reads everything that is kept here, enters readings, builds sites and closes visits, until it is shut out or \
                 half a year is over. It is not shown this page nor Copies: taking everything out or in, backing up and \
                 restoring stay with the laptop, and so does the file of a whole site." }
            p { "Shut out, it is out at once. Pages that it had open stay on it until it next asks the laptop, or its browser's \
                 data is cleared; readings that it has not sent yet stay on it too." }
        }
    }
}

impl PhonesPage {
    fn code(&self, opened: &Opened) -> Markup {
        let another = |word: &str| {
            html! { form method="post" action="/phones/code" { (key_field(&self.key)) button type="submit" .main { (word) } } }
        };
        html! {
            h2 { "Let a phone in" }
            @match &self.code {
                Code::None => { p { "A code lets one phone in, once, within ten minutes." } (another("Show a code")) }
                Code::Good { digits, picture, minutes } => {
                    div .pairing {
                        (qr::drawn(picture))
                        ol {
                            li { "Point the phone's camera at the picture, or open " b .code { (opened.address) } " on it. Both have to be in the same network." }
                            li { "The browser warns, as nobody but this laptop vouches for its certificate. Compare the fingerprint below before you go on: \
                                  if it differs, somebody stands between, and the code must not be typed." }
                            li { "The code, where the picture has not brought it: " b .digits { (digits.get(..4).unwrap_or(digits)) " " (digits.get(4..).unwrap_or_default()) } }
                        }
                    }
                    p .faint { "Good for one phone, and for "
                        (crate::words::count(usize::try_from(*minutes).unwrap_or(0), "minute", "minutes")) " at most; five wrong tries end it." }
                    (another("Show another code"))
                }
                Code::Used(by) => { p role="status" { b { (by) } " was let in. The code is used up." } (another("Show a code for another phone")) }
                Code::Late => { p { "The code was not used within ten minutes and is void." } (another("Show another code")) }
                Code::Void => {
                    div .wrong role="alert" { p { "Five wrong codes came, so the code is void. If it was not you, somebody in this network tries to come in." } }
                    (another("Show another code"))
                }
                Code::Shut => {
                    div .wrong role="alert" { p { "Twenty wrong codes came within an hour. Somebody in this network tries to come in: no code is made \
                         or taken until the hour is over. Phones that are paired go on." } }
                }
            }
        }
    }

    fn list(&self) -> Markup {
        html! {
            h2 { "Phones that may come in" }
            @if self.phones.is_empty() { p { "No phone yet." } }
            ul .list {
                @for it in &self.phones {
                    li .told {
                        span { b { (it.name) } br; span .small .faint {
                            "paired " (it.paired) ", "
                            @match &it.seen { Some(seen) => { "last here " (seen) } None => "not here yet" }
                        } }
                        form method="post" action="/phones/shut-out" {
                            (key_field(&self.key))
                            input type="hidden" name="phone" value=(it.id);
                            button type="submit" aria-label={ "Shut out " (it.name) } { "Shut out" }
                        }
                    }
                }
            }
        }
    }
}

impl Opened {
    fn said(&self) -> Markup {
        // in rows of eight pairs, as they are compared by eye
        let pairs: Vec<&str> = self.fingerprint.split(':').collect();
        html! {
            h2 { "The certificate" }
            p { "SHA-256 fingerprint. On the phone it stands in the browser's details of the connection, beside the address." }
            div .sheet { p .code .print { @for row in pairs.chunks(8) { (row.join(" ")) br; } } }
            @if !self.others.is_empty() {
                p { "In another network of this laptop the address is " @for (n, it) in self.others.iter().enumerate() { @if n > 0 { " or " } code { (it) } } "." }
            }
            p .small .faint { "When the laptop gets another address, start the workbench anew: it makes a certificate for that one." }
        }
    }
}
