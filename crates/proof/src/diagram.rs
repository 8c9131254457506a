//! The reliability diagram as SVG.

use std::fmt::Write;

use crate::calibration::Bin;

/// Draws bins: given probability to the right, share that was true upwards; a disc's area is its number of visits.
#[must_use]
pub fn reliability(bins: &[Bin], title: &str) -> String {
    let (side, margin) = (420.0, 56.0);
    let x = |p: f64| margin + p * side;
    let y = |p: f64| margin + (1.0 - p) * side;
    let whole = side + 2.0 * margin;
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {whole} {whole}\" font-family=\"sans-serif\" \
         font-size=\"13\">\n<title>{title}</title>\n<rect width=\"{whole}\" height=\"{whole}\" fill=\"#fff\"/>\n"
    );
    for k in 0..=5 {
        let p = f64::from(k) / 5.0;
        let _ = writeln!(
            out,
            "<path d=\"M{} {}H{}M{} {}V{}\" stroke=\"#ddd\" fill=\"none\"/>\
             <text x=\"{}\" y=\"{}\" text-anchor=\"middle\">{p:.1}</text><text x=\"{}\" y=\"{}\" text-anchor=\"end\">{p:.1}</text>",
            x(0.0),
            y(p),
            x(1.0),
            x(p),
            y(0.0),
            y(1.0),
            x(p),
            y(0.0) + 18.0,
            x(0.0) - 8.0,
            y(p) + 4.0
        );
    }
    let _ = writeln!(
        out,
        "<path d=\"M{} {}L{} {}\" stroke=\"#888\" stroke-dasharray=\"4 4\"/>",
        x(0.0),
        y(0.0),
        x(1.0),
        y(1.0)
    );
    let n: usize = bins.iter().map(|b| b.n).sum();
    let points: Vec<&Bin> = bins.iter().filter(|b| b.n > 0).collect();
    let line: Vec<String> = points
        .iter()
        .map(|b| format!("{:.1},{:.1}", x(b.given), y(b.held)))
        .collect();
    let _ = writeln!(
        out,
        "<polyline points=\"{}\" fill=\"none\" stroke=\"#1b5e8c\" stroke-width=\"2\"/>",
        line.join(" ")
    );
    for b in &points {
        let radius = 3.0 + 17.0 * (b.n as f64 / n as f64).sqrt();
        let _ = writeln!(
            out,
            "<circle cx=\"{:.1}\" cy=\"{:.1}\" r=\"{radius:.1}\" fill=\"#1b5e8c\" fill-opacity=\"0.35\" stroke=\"#1b5e8c\">\
             <title>{} cases: given {:.2}, true {:.2}</title></circle>",
            x(b.given),
            y(b.held),
            b.n,
            b.given,
            b.held
        );
    }
    let _ = writeln!(
        out,
        "<text x=\"{0}\" y=\"24\" text-anchor=\"middle\" font-size=\"15\">{title}</text>\
         <text x=\"{0}\" y=\"{1}\" text-anchor=\"middle\">probability given</text>\
         <text transform=\"translate(16 {0}) rotate(-90)\" text-anchor=\"middle\">share that was true</text>\n</svg>",
        whole / 2.0,
        whole - 12.0
    );
    out
}
