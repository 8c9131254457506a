//! A picture that a phone's camera reads: ISO/IEC 18004, made by a library and drawn here, as the page allows no inline style.

use maud::{Markup, html};
use qrcode::{Color, EcLevel, QrCode};

/// Light modules around it, as the standard asks.
const QUIET: usize = 4;

/// What the camera opens: the code stands behind `#`, which browsers keep to themselves, and the page takes it away from
/// there before anything else.
pub fn link(address: &str, digits: &str) -> String {
    format!("{address}/pair#{digits}")
}

/// The picture as a path of dark modules and its width in modules; empty where the text is too long for any.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Picture {
    path: String,
    width: usize,
}

/// The picture of a text.
pub fn of(text: &str) -> Picture {
    let Ok(code) = QrCode::with_error_correction_level(text, EcLevel::M) else {
        return Picture::default();
    };
    let width = code.width();
    let mut path = String::new();
    for (n, colour) in code.to_colors().into_iter().enumerate() {
        if colour == Color::Dark {
            path += &format!("M{} {}h1v1h-1z", n % width + QUIET, n / width + QUIET);
        }
    }
    Picture {
        path,
        width: width + 2 * QUIET,
    }
}

/// Dark on light in both themes: cameras expect it so.
pub fn drawn(picture: &Picture) -> Markup {
    let size = picture.width;
    html! {
        svg .qr viewBox=(format!("0 0 {size} {size}")) role="img" aria-label="Picture for the phone's camera" shape-rendering="crispEdges" {
            rect .light width=(size) height=(size) {}
            path .dark d=(picture.path) {}
        }
    }
}

/// The same in the half blocks of a terminal, light on dark as most terminals are.
pub fn blocks(text: &str) -> String {
    use qrcode::render::unicode::Dense1x2;
    let Ok(code) = QrCode::with_error_correction_level(text, EcLevel::L) else {
        return String::new();
    };
    let mut picture = code.render::<Dense1x2>();
    picture
        .dark_color(Dense1x2::Light)
        .light_color(Dense1x2::Dark)
        .build()
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "https://192.168.178.120:4718/pair#48217730";

    fn read(width: usize, height: usize, dark: impl Fn(usize, usize) -> bool) -> String {
        let scale = 4;
        let mut image =
            rqrr::PreparedImage::prepare_from_greyscale(width * scale, height * scale, |x, y| {
                if dark(x / scale, y / scale) { 0 } else { 255 }
            });
        let grids = image.detect_grids();
        assert_eq!(grids.len(), 1, "one picture is found");
        grids[0].decode().expect("it reads").1
    }

    /// rqrr 0.11.0, a reader that shares nothing with the library that makes the picture.
    #[test]
    fn ref_another_library_reads_what_the_page_shows() {
        let picture = of(TEXT);
        let dark: std::collections::HashSet<(usize, usize)> = picture
            .path
            .split('M')
            .skip(1)
            .map(|it| {
                let (x, rest) = it.split_once(' ').expect("two numbers");
                let y = rest.split_once('h').expect("a square").0;
                (x.parse().expect("a number"), y.parse().expect("a number"))
            })
            .collect();
        assert_eq!(
            read(picture.width, picture.width, |x, y| dark.contains(&(x, y))),
            TEXT
        );
    }

    /// rqrr 0.11.0 again: a lit half block is light, as on a dark terminal.
    #[test]
    fn ref_another_library_reads_what_the_terminal_shows() {
        let lines: Vec<Vec<char>> = blocks(TEXT)
            .lines()
            .map(|it| it.chars().collect())
            .collect();
        let dark = |x: usize, y: usize| {
            let upper = y.is_multiple_of(2);
            match lines[y / 2].get(x) {
                Some('█') => false,
                Some('▀') => !upper,
                Some('▄') => upper,
                _ => true,
            }
        };
        assert_eq!(read(lines[0].len(), lines.len() * 2, dark), TEXT);
    }
}
