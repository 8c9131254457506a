//! A page: a plain struct filled from findings, and the frame that all pages stand in.

use maud::{DOCTYPE, Markup, html};

/// What a page stands in beside its own content: who sits before it, and what is said on top of each.
#[derive(Clone, Debug, Default)]
pub struct Frame {
    /// Who sits there.
    pub seat: Seat,
    /// Bad news about the data.
    pub notice: Option<String>,
}

/// Who sits before a page.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Seat {
    /// The laptop that the workbench runs on.
    #[default]
    Laptop,
    /// A paired phone: whatever is the laptop's is not offered.
    Phone,
    /// Somebody who has not come in: no way on.
    Stranger,
}

tokio::task_local! { static FRAME: Frame; }

/// Pages that this work makes stand in this frame. Whoever lets a request in says it once; a page does not ask.
pub async fn within<T>(frame: Frame, work: impl Future<Output = T>) -> T {
    FRAME.scope(frame, work).await
}

/// Stands at the foot of every page, as each could lead to a hand on a conductor.
pub const ALWAYS: &str = "Readings at an outlet are live work: prove the meter on a known live source before and after, with \
    leads and a meter rated for the place (CAT III, CAT II at the least). What lies behind a cover, in a panel, a power supply \
    or a UPS is a licensed electrician's or the maker's. This advice does not replace local codes and licensed practice: \
    where they say otherwise, they are right.";

/// What can be opened: a struct that computes nothing, with samples of every state that it can be in.
pub trait Page: Sized {
    /// Good, empty, huge and broken ones, by name; the tests render each.
    #[cfg(test)]
    fn samples() -> Vec<(&'static str, Self)>;
    /// What stands in the window's title.
    fn title(&self) -> String;
    /// Which part of the workbench it belongs to.
    fn part(&self) -> Part {
        Part::Sites
    }
    /// Pages to read and type on are narrow, drawings and tables wide.
    fn width(&self) -> Width {
        Width::Narrow
    }
    /// The site whose changes renew the page, if any.
    fn follows(&self) -> Option<String> {
        None
    }
    /// What stands between head and foot.
    fn render(&self) -> Markup;
}

/// A part of the workbench, as the head names it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// Sites and all that belongs to one.
    Sites,
    /// The quick trace.
    Quick,
    /// Copies of everything.
    Copies,
    /// Phones that may come in.
    Phones,
    /// Help.
    Help,
}

/// How wide a page is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Width {
    /// A column to read.
    Narrow,
    /// The whole window.
    Wide,
}

const PARTS: [(Part, &str, &str); 5] = [
    (Part::Sites, "/", "Sites"),
    (Part::Quick, "/quick", "Quick trace"),
    (Part::Copies, "/copies", "Copies"),
    (Part::Phones, "/phones", "Phones"),
    (Part::Help, "/help", "Help"),
];

/// A page in its frame.
pub fn framed(page: &impl Page) -> Markup {
    let frame = FRAME.try_with(Frame::clone).unwrap_or_default();
    let part = page.part();
    let offered = |it: Part| match frame.seat {
        Seat::Laptop => true,
        Seat::Phone => !matches!(it, Part::Copies | Part::Phones),
        Seat::Stranger => false,
    };
    let script = match frame.seat {
        Seat::Stranger => "/look/pair.js",
        Seat::Laptop | Seat::Phone => "/look/bench.js",
    };
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="referrer" content="same-origin";
                title { (page.title()) " · Wattwright" }
                link rel="icon" href="/look/mark.svg" type="image/svg+xml";
                link rel="stylesheet" href="/look/look.css";
                script src=(script) defer {}
            }
            body data-follows=[page.follows()] {
                a.skip href="#main" { "To the content" }
                header.head {
                    a.mark href="/" { (mark()) "Wattwright" }
                    @if frame.seat != Seat::Stranger { nav aria-label="Parts" {
                        @for (it, href, name) in PARTS.into_iter().filter(|it| offered(it.0)) {
                            a href=(href) aria-current=[(it == part).then_some("page")] { (name) }
                        }
                    } }
                }
                @if let Some(notice) = &frame.notice { p .wrong role="alert" { (notice) } }
                p.kept #kept role="status" hidden {}
                main #main .narrow[page.width() == Width::Narrow] { (page.render()) }
                footer.foot { p { (ALWAYS) } }
            }
        }
    }
}

/// Our own mark: a line that ends in two contacts.
fn mark() -> Markup {
    html! {
        svg viewBox="0 0 24 24" aria-hidden="true" fill="none" stroke="currentColor" stroke-width="2.4" {
            path d="M2 12h6" {}
            path d="M8 4v16a8 8 0 0 0 0-16z" {}
            path d="M12 9.5h9M12 14.5h9" {}
        }
    }
}

/// The way back up: names with their addresses.
pub fn trail(steps: &[(String, String)]) -> Markup {
    html! {
        nav.trail aria-label="Way back" {
            @for (n, (name, href)) in steps.iter().enumerate() {
                @if n > 0 { " / " }
                a href=(href) { (name) }
            }
        }
    }
}

/// A key that no other form ever carries, so that a form that comes twice counts once.
pub fn key_field(key: &str) -> Markup {
    html! { input type="hidden" name="key" value=(key); }
}
