//! Words and lengths on paper: sentences filled in, told in the person's unit, broken into lines that fit.
//!
//! How wide type runs is asked of whoever sets it ([`Measure`]): the press has the font, tests have [`estimate`].

use super::beside::Joints;
use super::order::Order;
use crate::quantity::{
    DECIMAL_SIGN, Direction, Figure, Step, Style, write_length, write_number, write_plus_minus,
};
use crate::words::{self, Arg, Say};

/// How wide a line of type runs, mm: the line, its size (em) in mm, whether it is bold.
pub type Measure<'a> = &'a dyn Fn(&str, f64, bool) -> f64;

/// Type of titles, mm. Read at arm's length, as all sizes here: capitals are about 0.7 of it.
pub const TITLE: f64 = 8.0;
/// Type of what matters, mm.
pub const MAIN: f64 = 5.0;
/// Type beside marks, mm.
pub const SMALL: f64 = 3.8;
/// The smallest type there is, mm.
pub const LEAST: f64 = 3.0;
/// From base line to base line, in sizes.
pub const LEADING: f64 = 1.3;
/// How far type stands above its base line, in sizes.
pub const ABOVE: f64 = 0.76;
/// How far it hangs below, in sizes.
pub const BELOW: f64 = 0.24;

/// No text is longer than this many characters, so that no name breaks a sheet.
const LONGEST: usize = 400;
/// What stands for what was cut off.
const CUT: char = '…';

/// What the writing on a set of sheets has in common.
#[derive(Clone)]
pub struct Writing<'a> {
    words: &'a [(String, String)],
    /// What stands before decimals.
    sign: char,
    style: Style,
    step: Step,
    direction: Direction,
    /// The job's name; may be empty.
    pub job: &'a str,
    /// The day, as the person writes it.
    pub date: &'a str,
    /// Counts the changes to the job so far.
    pub revision: u32,
    /// Where sheets will be joined, as far as that is known: writing keeps clear of it.
    pub joints: Joints,
    measure: Measure<'a>,
}

/// A sentence by its name.
fn find<'a>(words: &'a [(String, String)], key: &str) -> Option<&'a str> {
    words.iter().find(|(name, _)| name == key).map(|(_, sentence)| sentence.as_str())
}

impl<'a> Writing<'a> {
    /// The writing of an order, set in type that `measure` knows the width of.
    pub fn new(order: &'a Order, measure: Measure<'a>) -> Writing<'a> {
        Writing {
            words: &order.words,
            sign: find(&order.words, "number.decimal").and_then(|t| t.chars().next()).unwrap_or(DECIMAL_SIGN),
            style: order.style,
            step: order.step,
            direction: order.direction,
            job: &order.job,
            date: &order.date,
            revision: order.revision,
            joints: Joints::default(),
            measure,
        }
    }

    /// The same writing, kept clear of joints.
    #[must_use]
    pub fn beside(self, joints: Joints) -> Writing<'a> {
        Writing { joints, ..self }
    }

    /// A sentence with everything filled in: [`words::tell`].
    pub fn tell(&self, say: &Say) -> String {
        words::tell(say, |key| find(self.words, key), |arg, out| out.push_str(&self.arg(arg)))
    }

    /// A sentence with nothing to fill in.
    pub fn word(&self, key: &str) -> String {
        self.tell(&Say::new(key.to_owned()))
    }

    /// A figure as the order's language writes it.
    pub fn set(&self, figure: Figure) -> Figure {
        if self.sign == DECIMAL_SIGN { figure } else { figure.with_decimal_sign(self.sign) }
    }

    fn arg(&self, arg: &Arg) -> String {
        match arg {
            Arg::Text(t) => clean(t),
            Arg::Count(n) => n.to_string(),
            Arg::Length(mm) => self.length(*mm),
            Arg::PlusMinus(mm) => self.set(write_plus_minus(*mm, self.style)).with_unit(),
            Arg::Number(v, decimals) => self.set(write_number(*v, *decimals)).text,
            Arg::Say(s) => self.tell(s),
        }
    }

    /// The job, the day, the revision.
    pub fn made(&self) -> String {
        let say = Say::new(match (self.job.is_empty(), self.date.is_empty()) {
            (false, false) => "sheet.made",
            (false, true) => "sheet.made-undated",
            (true, false) => "sheet.made-unnamed",
            (true, true) => "sheet.made-only",
        });
        self.tell(
            &say.text("job", self.job).text("date", self.date).count("revision", self.revision as usize),
        )
    }

    /// A length in mm, rounded and told with its unit.
    pub fn length(&self, mm: f64) -> String {
        self.set(write_length(mm, self.style, self.step, self.direction)).with_unit()
    }

    /// The same without the unit, for a table whose head says it.
    pub fn figure(&self, mm: f64) -> String {
        self.set(write_length(mm, self.style, self.step, self.direction)).text
    }

    /// A thickness or a hole as it is bought, told as finely as a tape shows it whatever the step: 23/32 is not 3/4.
    pub fn fine(&self, mm: f64) -> String {
        let finest = if self.style.is_metric() { Step::TenthMm } else { Step::SixtyFourth };
        self.set(write_length(mm, self.style, finest, Direction::Nearest)).with_unit()
    }

    /// What lengths are rounded to.
    pub fn step(&self) -> Step {
        self.step.within(self.style)
    }

    /// Which way they are rounded.
    pub fn direction(&self) -> Direction {
        self.direction
    }

    /// How they are told.
    pub fn style(&self) -> Style {
        self.style
    }

    /// How wide a line runs, mm.
    pub fn width(&self, text: &str, size: f64, bold: bool) -> f64 {
        let width = (self.measure)(text, size, bold);
        if width.is_finite() { width.max(0.0) } else { 0.0 }
    }

    /// A text in lines of at most `width` mm. Broken at spaces; a word wider than a line is broken anywhere.
    pub fn wrap(&self, text: &str, size: f64, bold: bool, width: f64) -> Vec<String> {
        let text = clean(text);
        let mut lines: Vec<String> = Vec::new();
        let mut line = String::new();
        for word in split(&text) {
            let longer = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
            if self.width(&longer, size, bold) <= width {
                line = longer;
                continue;
            }
            if !line.is_empty() {
                lines.push(std::mem::take(&mut line));
            }
            for c in word.chars() {
                line.push(c);
                if line.chars().nth(1).is_some() && self.width(&line, size, bold) > width {
                    line.pop();
                    lines.push(std::mem::replace(&mut line, c.to_string()));
                }
            }
        }
        if !line.is_empty() {
            lines.push(line);
        }
        lines
    }

    /// A text in one line of at most `width` mm, cut short with … where it must be.
    pub fn fit(&self, text: &str, size: f64, bold: bool, width: f64) -> String {
        let mut text = clean(text);
        if self.width(&text, size, bold) <= width {
            return text;
        }
        while text.pop().is_some() {
            let cut = format!("{}{CUT}", text.trim_end());
            if self.width(&cut, size, bold) <= width {
                return cut;
            }
        }
        String::new()
    }
}

/// The words of a text. A whole number and the fraction after it are one: broken between lines they would read as two.
fn split(text: &str) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for word in text.split(' ').filter(|w| !w.is_empty()) {
        let fraction = word.starts_with(|c: char| c.is_ascii_digit())
            && word.chars().any(|c| c == crate::quantity::FRACTION_SLASH);
        match all.last_mut() {
            Some(last) if fraction && last.ends_with(|c: char| c.is_ascii_digit()) => {
                last.push(' ');
                last.push_str(word);
            }
            _ => all.push(word.to_owned()),
        }
    }
    all
}

/// A text without control characters, line breaks, runs of spaces; cut where it is longer than any sheet has room for.
pub fn clean(text: &str) -> String {
    let mut out = String::with_capacity(text.len().min(4 * LONGEST));
    for (i, c) in text.chars().filter(|c| !directs(*c)).enumerate() {
        if i == LONGEST {
            out.push(CUT);
            break;
        }
        let space = c == ' ' || c.is_control() || c == '\u{2028}' || c == '\u{2029}';
        if !space {
            out.push(c);
        } else if !out.is_empty() && !out.ends_with(' ') {
            out.push(' ');
        }
    }
    out.truncate(out.trim_end().len());
    out
}

/// Marks without width that only direct or join what stands beside them, and would turn a line's end about.
fn directs(c: char) -> bool {
    matches!(c, '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{feff}')
}

/// About how wide a line runs in a plain sans-serif face, mm. For where no font is at hand.
///
/// # References
/// Rough classes of widths in thousandths of an em, chosen by us to lie on the wide side.
pub fn estimate(text: &str, size: f64, bold: bool) -> f64 {
    let em = |c: char| match c {
        'i' | 'j' | 'l' | 'I' | '.' | ',' | ':' | ';' | '\'' | '|' | '!' | '\u{2032}' => 0.29,
        ' ' | '\u{a0}' | 'f' | 'r' | 't' | '(' | ')' | '/' | '\u{2044}' | '-' => 0.36,
        'm' | 'w' | 'M' | 'W' | '—' | '…' => 0.95,
        'A'..='Z' | 'Ø' => 0.72,
        _ => 0.58,
    };
    text.chars().map(em).sum::<f64>() * size * if bold { 1.08 } else { 1.0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheet::trial::order;
    use proptest::prelude::*;

    #[test]
    fn sentences_are_filled_in() {
        let mut order = order();
        order.words = [("a.b", "{count} of {size}, {what}"), ("a.b.one", "one of {size}"), ("a.w", "{a}")]
            .map(|(k, v)| (k.to_owned(), v.to_owned()))
            .to_vec();
        let w = Writing::new(&order, &estimate);
        let say = |n| {
            Say::new("a.b").count("count", n).length("size", 25.4 * 3.53).text("what", "x\u{7}\n y {size}")
        };
        assert_eq!(w.tell(&say(2)), "2 of 3 1⁄2\u{a0}in, x y {size}");
        assert_eq!(w.tell(&say(1)), "one of 3 1⁄2\u{a0}in");
        assert_eq!(w.tell(&Say::new("a.none")), "a.none");
        assert_eq!(w.fine(23.0 / 32.0 * 25.4), "23⁄32\u{a0}in");
        assert_eq!(w.tell(&Say::new("a.w").with("a", Arg::Say(Box::new(say(1))))), "one of 3 1⁄2\u{a0}in");
    }

    #[test]
    fn lines_are_broken_at_spaces_and_names_cut() {
        let order = order();
        // Every character an em.
        let w = Writing::new(&order, &|t, size, _| t.chars().count() as f64 * size);
        assert_eq!(w.wrap("one two three", 1.0, false, 7.0), ["one two", "three"]);
        assert_eq!(w.wrap("a 12\u{a0}in b", 1.0, false, 6.0), ["a", "12\u{a0}in", "b"]);
        assert_eq!(w.wrap("size 1 1⁄4\u{a0}in b", 1.0, false, 9.0), ["size", "1 1⁄4\u{a0}in", "b"]);
        assert_eq!(w.wrap("abcdefgh", 1.0, false, 3.0), ["abc", "def", "gh"]);
        assert_eq!(w.wrap("abc", 1.0, false, 0.0), ["a", "b", "c"]);
        assert_eq!(w.wrap(" \n\t ", 1.0, false, 3.0), Vec::<String>::new());
        assert_eq!(w.fit("a long name", 1.0, false, 7.0), "a long…");
        assert_eq!(w.fit("name", 1.0, false, 4.0), "name");
        assert_eq!(w.fit("name", 1.0, false, 0.5), "");
        assert_eq!(clean(&"x".repeat(500)).chars().count(), LONGEST + 1);
        assert_eq!(clean("\u{202e}a\u{200f}b\r\n\n c "), "ab c");
    }

    proptest! {
        #[test]
        fn nothing_is_lost_or_too_wide(text in any::<String>(), width in 20.0..200.0f64) {
            let order = order();
            let w = Writing::new(&order, &estimate);
            let lines = w.wrap(&text, 4.0, true, width);
            prop_assert!(lines.iter().all(|l| w.width(l, 4.0, true) <= width));
            let bare = |t: &str| t.chars().filter(|c| *c != ' ').collect::<String>();
            prop_assert_eq!(bare(&lines.concat()), bare(&clean(&text)));
            prop_assert!(w.width(&w.fit(&text, 4.0, true, width), 4.0, true) <= width);
        }
    }
}
