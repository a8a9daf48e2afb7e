//! Cutting what a person wrote into pieces, each with its place.

/// Which digits a number is made of: superscript and subscript ones only stand in fractions.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Digits {
    Plain,
    Super,
    Sub,
}

/// What a piece is.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Kind {
    /// Digits with at most one decimal sign, as plain ASCII with a point.
    Number { text: String, digits: Digits, decimal: bool },
    /// A number written as one character, such as ½.
    Vulgar(u8, u8),
    /// ⅟, which wants its lower figure.
    OneOver,
    /// Between the two figures of a fraction.
    Slash,
    /// A hyphen or one of its kin.
    Dash,
    /// One or more spaces of any kind.
    Space,
    /// Letters.
    Word(String),
    /// A foot mark.
    FootMark,
    /// An inch mark.
    InchMark,
    /// Anything else.
    Other(char),
}

/// A piece and its place, counted in characters of the text.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Piece {
    pub kind: Kind,
    pub at: usize,
    pub len: usize,
}

/// A number that can't be read: why, and where.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum BadNumber {
    /// A second decimal sign.
    SecondSign { at: usize },
    /// Nothing behind the decimal sign.
    BareSign { at: usize },
    /// `1,200`: a thousand and more, or a little over one?
    Thousands { at: usize, len: usize },
}

/// Cuts `text` into pieces.
pub(super) fn scan(text: &str) -> Result<Vec<Piece>, BadNumber> {
    let chars: Vec<char> = text.chars().map(half_width).collect();
    let mut pieces = Vec::new();
    let mut at = 0;
    while let Some(&c) = chars.get(at) {
        let (kind, len) = if starts_number(&chars, at) {
            number(&chars, at)?
        } else if c.is_whitespace() || is_thin_space(c) {
            (Kind::Space, run(&chars, at, |c| c.is_whitespace() || is_thin_space(c)))
        } else if is_letter(c) {
            word(&chars, at)
        } else {
            sign(&chars, at, c)
        };
        pieces.push(Piece { kind, at, len });
        at += len;
    }
    Ok(pieces)
}

fn run(chars: &[char], at: usize, is: impl Fn(char) -> bool) -> usize {
    chars.iter().skip(at).take_while(|c| is(**c)).count()
}

/// Full-width forms, as some keyboards type them, are their plain selves.
fn half_width(c: char) -> char {
    match c {
        '\u{ff01}'..='\u{ff5e}' => char::from_u32(u32::from(c) - 0xfee0).unwrap_or(c),
        c => c,
    }
}

fn digit(c: char) -> Option<(u8, Digits)> {
    let value = match c {
        '0'..='9' => return Some((c as u8 - b'0', Digits::Plain)),
        '¹' => 1,
        '²' => 2,
        '³' => 3,
        '⁰' | '⁴'..='⁹' => (u32::from(c) - 0x2070) as u8,
        '₀'..='₉' => return Some(((u32::from(c) - 0x2080) as u8, Digits::Sub)),
        _ => return None,
    };
    Some((value, Digits::Super))
}

fn starts_number(chars: &[char], at: usize) -> bool {
    let plain = |i: usize| chars.get(i).is_some_and(char::is_ascii_digit);
    match chars.get(at) {
        Some('.' | ',') => plain(at + 1),
        Some(&c) => digit(c).is_some(),
        None => false,
    }
}

fn number(chars: &[char], at: usize) -> Result<(Kind, usize), BadNumber> {
    let digits = chars.get(at).and_then(|c| digit(*c)).map_or(Digits::Plain, |(_, d)| d);
    let (mut text, mut sign, mut len) = (String::new(), None, 0);
    for (i, &c) in chars.iter().enumerate().skip(at) {
        match digit(c) {
            Some((value, kind)) if kind == digits => text.push(char::from(b'0' + value)),
            None if digits == Digits::Plain && matches!(c, '.' | ',') => {
                if sign.is_some() {
                    return Err(BadNumber::SecondSign { at: i });
                }
                sign = Some((i, c));
                text.push('.');
            }
            _ => break,
        }
        len += 1;
    }
    if let Some((i, c)) = sign {
        let (whole, part) = (i - at, at + len - i - 1);
        if part == 0 {
            return Err(BadNumber::BareSign { at: i });
        }
        let leading_zero = chars.get(at) == Some(&'0');
        if c == ',' && part == 3 && (1..=3).contains(&whole) && !leading_zero {
            return Err(BadNumber::Thousands { at, len });
        }
    }
    Ok((Kind::Number { text, digits, decimal: sign.is_some() }, len))
}

fn word(chars: &[char], at: usize) -> (Kind, usize) {
    let len = run(chars, at, is_letter);
    // Every unit is spelled in ASCII.
    let word: String = chars.iter().skip(at).take(len).map(char::to_ascii_lowercase).collect();
    // The full stop of `in.` and `ft.` belongs to the word.
    let stop = chars.get(at + len) == Some(&'.') && !starts_number(chars, at + len);
    (Kind::Word(word), len + usize::from(stop))
}

fn sign(chars: &[char], at: usize, c: char) -> (Kind, usize) {
    if let Some((num, den)) = vulgar(c) {
        return (Kind::Vulgar(num, den), 1);
    }
    match c {
        '⅟' => (Kind::OneOver, 1),
        '/' | '\u{2044}' | '\u{2215}' => (Kind::Slash, 1),
        '-' | '\u{2010}' | '\u{2011}' | '\u{2012}' | '\u{2013}' | '\u{2212}' => (Kind::Dash, 1),
        '"' | '\u{201c}' | '\u{201d}' | '\u{201f}' | '\u{2033}' | '\u{2036}' => (Kind::InchMark, 1),
        // Two single marks are a double one.
        c if is_single_mark(c) => match chars.get(at + 1) {
            Some(&next) if is_single_mark(next) => (Kind::InchMark, 2),
            _ => (Kind::FootMark, 1),
        },
        c => (Kind::Other(c), 1),
    }
}

/// Some marks that look like an apostrophe count as letters in Unicode.
fn is_letter(c: char) -> bool {
    c.is_alphabetic() && !is_single_mark(c)
}

fn is_single_mark(c: char) -> bool {
    matches!(
        c,
        '\'' | '\u{2018}'
            | '\u{2019}'
            | '\u{201b}'
            | '\u{2032}'
            | '\u{2035}'
            | '\u{2b9}'
            | '\u{2bc}'
            | '\u{b4}'
            | '`'
    )
}

/// Spaces that Unicode doesn't call white: invisible joints that come along with copied text.
fn is_thin_space(c: char) -> bool {
    matches!(c, '\u{200a}'..='\u{200d}' | '\u{2060}' | '\u{feff}' | '\u{180e}')
}

/// Numbers in one character (Unicode, "Number Forms" and Latin-1).
fn vulgar(c: char) -> Option<(u8, u8)> {
    Some(match c {
        '¼' => (1, 4),
        '½' => (1, 2),
        '¾' => (3, 4),
        '⅐' => (1, 7),
        '⅑' => (1, 9),
        '⅒' => (1, 10),
        '⅓' => (1, 3),
        '⅔' => (2, 3),
        '⅕' => (1, 5),
        '⅖' => (2, 5),
        '⅗' => (3, 5),
        '⅘' => (4, 5),
        '⅙' => (1, 6),
        '⅚' => (5, 6),
        '⅛' => (1, 8),
        '⅜' => (3, 8),
        '⅝' => (5, 8),
        '⅞' => (7, 8),
        '↉' => (0, 3),
        _ => return None,
    })
}
