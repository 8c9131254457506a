//! Did you mean: the nearest word to one that is not known.

/// The candidate that a slip of the hand would turn into `word`, if one is near enough.
pub(crate) fn nearest<'a>(
    word: &str,
    candidates: impl IntoIterator<Item = &'a str>,
) -> Option<&'a str> {
    let folded = fold(word);
    let reach = (folded.len().div_ceil(3)).min(3);
    candidates
        .into_iter()
        .map(|it| (distance(&folded, &fold(it), reach), it))
        .filter(|(steps, _)| *steps <= reach)
        .min_by_key(|(steps, _)| *steps)
        .map(|(_, it)| it)
}

/// The candidate of which `word` is one slip of one finger away; words of few letters are too near each other for that.
pub(crate) fn a_slip_from<'a>(
    word: &str,
    candidates: impl IntoIterator<Item = &'a str>,
) -> Option<&'a str> {
    let folded = fold(word);
    let mut near = candidates.into_iter();
    near.find(|it| folded.len() > 3 && distance(&folded, &fold(it), 1) <= 1)
}

/// `"x", "y" or "z"`, at most sixteen of them.
pub(crate) fn listed<'a>(words: impl IntoIterator<Item = &'a str>) -> String {
    let mut quoted: Vec<String> = words.into_iter().map(|it| format!("\"{it}\"")).collect();
    if quoted.len() > 16 {
        quoted.truncate(16);
        return format!("{}, ...", quoted.join(", "));
    }
    match quoted.pop() {
        None => String::new(),
        Some(last) if quoted.is_empty() => last,
        Some(last) => format!("{} or {last}", quoted.join(", ")),
    }
}

/// A word as it is compared: case, blanks, dashes and underscores do not count.
pub(crate) fn fold(word: &str) -> Vec<char> {
    word.chars()
        .filter(|it| !it.is_whitespace() && !matches!(it, '-' | '_' | '–'))
        .flat_map(char::to_lowercase)
        .take(64)
        .collect()
}

/// Letters changed, missed, added or exchanged with their neighbour; `reach + 1` as soon as there are more.
fn distance(a: &[char], b: &[char], reach: usize) -> usize {
    if a.len().abs_diff(b.len()) > reach {
        return reach + 1;
    }
    let mut before: Vec<usize> = Vec::new();
    let mut last: Vec<usize> = (0..=b.len()).collect();
    for i in 0..a.len() {
        let mut row = vec![i + 1];
        for j in 0..b.len() {
            let change = last[j] + usize::from(a[i] != b[j]);
            let mut best = change.min(last[j + 1] + 1).min(row[j] + 1);
            if i > 0 && j > 0 && a[i] == b[j - 1] && a[i - 1] == b[j] {
                best = best.min(before[j - 1] + 1);
            }
            row.push(best);
        }
        before = std::mem::replace(&mut last, row);
    }
    last[b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_is_recognised_and_another_word_is_not() {
        let keys = ["breaker", "cable", "circuit", "id"];
        assert_eq!(nearest("braeker", keys), Some("breaker"));
        assert_eq!(nearest("Circiut", keys), Some("circuit"));
        assert_eq!(nearest("colour", keys), None);
        assert_eq!(nearest("", ["ab"]), None);
    }

    #[test]
    fn words_are_listed_as_a_sentence() {
        assert_eq!(listed(["a"]), "\"a\"");
        assert_eq!(listed(["a", "b", "c"]), "\"a\", \"b\" or \"c\"");
    }
}
