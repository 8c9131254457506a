//! The answer of a trace as a page: first whether it is dangerous, may stay in use and whose it is; then what is wrong
//! and how sure, the caution, the next check and why; then the evidence, the remarks and the work.

use site::finding::Finding;
use site::region::Words;
use trace::answer::{Answer, Evidence, Group, Member, Next};

use crate::screen::{Looks, Screen};
use crate::show::{findings, words};

/// Stands at the end of every page that could lead to a hand on a conductor.
pub const ALWAYS: &str = "Prove the meter on a known live source before and after, with leads rated for the place. \
    This advice does not replace local codes and licensed practice: where they say otherwise, they are right.";

/// Writes an answer.
pub fn page(screen: &mut Screen, answer: &Answer, region: &Words) {
    head(screen, answer);
    let (shock, fire) = (
        trace::words::percent(answer.danger.shock),
        trace::words::percent(answer.danger.fire),
    );
    screen.paragraph(
        2,
        &format!("Probability of a shock hazard {shock}, of a fire hazard {fire}."),
    );
    causes(screen, answer, region);
    screen.heading("Caution");
    if !answer.caution.is_empty() {
        screen.hanging_by(2, "  ", Looks::Plain, &answer.caution, Looks::Heading);
    }
    screen.paragraph(2, ALWAYS);
    match &answer.next {
        Some(it) => next(screen, it),
        None => {
            screen.heading("Check next");
            screen.paragraph(
                2,
                "Nothing: no check that is yours to make could change what has to be done.",
            );
        }
    }
    if !answer.for_electrician.is_empty() {
        screen.heading(&format!("What a {} would check", region.electrician));
        for check in &answer.for_electrician {
            screen.hanging("  - ", Looks::Plain, check, Looks::Plain);
        }
    }
    evidence(screen, answer);
    // findings on causes repeat what stands above; those that have a limit are the verdicts on readings
    let verdicts: Vec<Finding> = answer
        .findings
        .iter()
        .filter(|it| it.limit.is_some())
        .cloned()
        .collect();
    if !verdicts.is_empty() {
        screen.heading("Readings against their limits");
        findings::list(screen, &verdicts, region);
    }
    if !answer.remarks.is_empty() {
        screen.heading("Odd in what was told");
        for remark in &answer.remarks {
            screen.hanging("  - ", Looks::Plain, remark, Looks::Plain);
        }
    }
    screen.blank();
    let work = &answer.work;
    let done = format!(
        "Considered {} causes with {} network solutions, {} factorings and {} refactorings.",
        work.causes, work.solutions, work.factorings, work.refactorings
    );
    screen.hanging("", Looks::Plain, &done, Looks::Faint);
}

/// Verdict, headline and reason.
pub fn head(screen: &mut Screen, answer: &Answer) {
    let label = format!("{}  ", words::verdict(answer.verdict));
    let looks = words::looks(answer.verdict);
    let headline = trace::words::behind_verdict(&answer.headline);
    screen.hanging_by(2, &label, looks, &headline, Looks::Heading);
    screen.paragraph(2, &answer.because);
}

/// Writes the causes: of the whole, or circuit by circuit where there are several.
pub fn causes(screen: &mut Screen, answer: &Answer, region: &Words) {
    if answer.parts.is_empty() {
        screen.heading("What is wrong, and how sure");
        groups(screen, &answer.causes, answer, region);
        probability(
            screen,
            answer.not_in_catalogue,
            "something not in the catalogue",
        );
        return;
    }
    screen.heading("What is wrong, and how sure, circuit by circuit");
    for part in &answer.parts {
        let label = format!("  {}  ", words::verdict(part.verdict));
        let text = format!(
            "{}: {}",
            part.about.replacen(':', " ", 1),
            trace::words::behind_verdict(&part.headline)
        );
        screen.hanging_by(4, &label, words::looks(part.verdict), &text, Looks::Heading);
        groups(screen, &part.causes, answer, region);
        if !part.caution.is_empty() && part.caution != answer.caution {
            screen.hanging_by(
                13,
                "  caution:   ",
                Looks::Faint,
                &part.caution,
                Looks::Plain,
            );
        }
    }
    probability(
        screen,
        answer.not_in_catalogue,
        "something not in the catalogue",
    );
}

fn groups(screen: &mut Screen, groups: &[Group], answer: &Answer, region: &Words) {
    let (shown, n_rest, rest) = trace::words::worth_a_line(groups);
    for (n, group) in shown.iter().enumerate() {
        cause(screen, n + 1, group, answer, region);
    }
    match n_rest {
        0 => {}
        1 => probability(screen, rest, "one further cause"),
        n => probability(screen, rest, &format!("{n} further causes together")),
    }
}

fn cause(screen: &mut Screen, rank: usize, group: &Group, answer: &Answer, region: &Words) {
    let severity = group
        .severity
        .as_ref()
        .map_or(String::new(), |it| format!(" ({it})"));
    probability(
        screen,
        group.probability,
        &format!("{}{severity}", group.says),
    );
    let indent = 13;
    let worth_a_line = |it: &&Member| it.probability >= 0.01;
    for other in group.others.iter().filter(worth_a_line) {
        let text = format!(
            "or, which no check tells apart: {} ({})",
            trace::words::clause(&other.says),
            trace::words::percent(other.probability)
        );
        screen.paragraph(indent, &text);
    }
    let rare = group.others.iter().filter(|it| !worth_a_line(it)).count();
    match rare {
        0 => {}
        1 => screen.paragraph(indent, "or a rarer cause that looks the same"),
        n => screen.paragraph(
            indent,
            &format!("or one of {n} rarer causes that look the same"),
        ),
    }
    if rank > 1 {
        screen.paragraph(
            indent,
            &format!("If so: {}.", trace::words::to_do(group.action, region)),
        );
    } else if !group.mends.is_empty() && !answer.for_electrician.contains(&group.mends) {
        screen.paragraph(indent, &group.mends);
    }
}

fn probability(screen: &mut Screen, probability: f64, text: &str) {
    let label = format!("  {:>9}  ", trace::words::percent(probability));
    screen.hanging(&label, Looks::Heading, text, Looks::Plain);
}

/// Writes the next check.
pub fn next(screen: &mut Screen, next: &Next) {
    screen.heading("Check next");
    screen.hanging_by(2, "  ", Looks::Plain, &next.says, Looks::Heading);
    let minutes = if next.minutes < 1.5 {
        "about a minute".to_owned()
    } else {
        format!("about {:.0} minutes", next.minutes)
    };
    screen.paragraph(
        2,
        &format!(
            "It takes {minutes}; hazard class {}. {}",
            next.hazard, next.caution
        ),
    );
    for outcome in &next.would_mean {
        let text = format!(
            "{} ({}): {}",
            outcome.result,
            trace::words::percent(outcome.probability),
            outcome.means
        );
        screen.hanging("  - ", Looks::Plain, &text, Looks::Plain);
    }
    if !next.tell.is_empty() {
        screen.hanging("  tell it as:  ", Looks::Faint, &next.tell, Looks::Plain);
    }
}

/// How many rows of evidence a page has before it leaves out those that speak neither way.
const ROWS: usize = 6;

fn evidence(screen: &mut Screen, answer: &Answer) {
    let explained = |groups: &[Group], most: usize| -> Vec<Group> {
        let told = |it: &&Group| !it.evidence.is_empty() && it.probability >= 0.01;
        groups.iter().filter(told).take(most).cloned().collect()
    };
    let groups: Vec<Group> = match answer.parts.as_slice() {
        [] => explained(&answer.causes, 2),
        parts => parts
            .iter()
            .flat_map(|it| explained(&it.causes, 1))
            .collect(),
    };
    for (n, group) in groups.iter().enumerate() {
        let second = n > 0 && answer.parts.is_empty();
        screen.heading(if second {
            "Evidence for the second"
        } else {
            "Evidence"
        });
        screen.hanging(
            "  if ",
            Looks::Faint,
            &trace::words::clause(&group.says),
            Looks::Plain,
        );
        let many = group.evidence.len() > ROWS;
        let speaks = |it: &&Evidence| !many || it.weight.abs() >= trace::words::NEITHER;
        let row = |it: &Evidence| {
            vec![
                it.read.clone(),
                it.predicts.clone(),
                trace::words::odds_for(it.weight),
            ]
        };
        let rows: Vec<Vec<String>> = group.evidence.iter().filter(speaks).map(row).collect();
        if !rows.is_empty() {
            screen.table(2, &["read", "it would be", "speaks"], &rows);
        }
        match group.evidence.len() - rows.len() {
            0 => {}
            1 => screen.paragraph(2, "and one that speaks neither way"),
            n => screen.paragraph(2, &format!("and {n} that speak neither way")),
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::screen::{Colours, Format, Screen};
    use crate::show::samples;

    use super::*;

    fn drawn(answer: &Answer, format: Format) -> String {
        let mut screen = Screen::new(format);
        page(&mut screen, answer, &samples::north_america());
        screen.finish()
    }

    #[test]
    fn pin_a_dangerous_answer_at_two_widths() {
        let answer = samples::danger();
        samples::pinned("danger-80.txt", &drawn(&answer, Format::plain(80)));
        samples::pinned("danger-40.txt", &drawn(&answer, Format::plain(40)));
    }

    #[test]
    fn pin_a_good_answer_at_two_widths() {
        let answer = samples::good();
        samples::pinned("good-80.txt", &drawn(&answer, Format::plain(80)));
        samples::pinned("good-40.txt", &drawn(&answer, Format::plain(40)));
    }

    #[test]
    fn the_first_line_says_danger_and_no_line_is_too_wide() {
        for width in [40, 57, 80, 100] {
            for answer in [samples::danger(), samples::good()] {
                let text = drawn(&answer, Format::plain(width));
                let wide: Vec<&str> = text
                    .lines()
                    .filter(|it| textwrap::core::display_width(it) > width)
                    .collect();
                assert!(wide.is_empty(), "wider than {width}: {wide:#?}");
            }
        }
        let first = drawn(&samples::danger(), Format::plain(80))
            .lines()
            .next()
            .unwrap_or("")
            .to_owned();
        assert!(first.starts_with("◆ DANGER  Dangerous"), "{first}");
    }

    #[test]
    fn colour_adds_nothing_but_escape_sequences() {
        let answer = samples::danger();
        let coloured = drawn(
            &answer,
            Format {
                width: 80,
                colours: Colours::On,
            },
        );
        let mut plain = String::new();
        let mut rest = coloured.as_str();
        while let Some((before, after)) = rest.split_once('\u{1b}') {
            plain.push_str(before);
            rest = after.split_once('m').map_or("", |it| it.1);
        }
        plain.push_str(rest);
        let trimmed = |text: &str| {
            text.lines()
                .map(|it| it.trim_end().to_owned())
                .collect::<Vec<_>>()
        };
        assert_eq!(trimmed(&plain), trimmed(&drawn(&answer, Format::plain(80))));
    }

    #[test]
    fn every_page_asks_for_a_proved_meter_and_defers_to_the_code() {
        for answer in [samples::danger(), samples::good()] {
            let text = drawn(&answer, Format::plain(100)).replace('\n', " ");
            assert!(
                text.contains("before and after") && text.contains("licensed practice"),
                "{text}"
            );
        }
    }
}
