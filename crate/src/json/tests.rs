use super::*;
use proptest::prelude::*;
use serde_json::Value;

/// The outside check: `serde_json`.
fn check(text: &str) {
    let ours = read::<Json>(text);
    match serde_json::from_str::<Value>(text) {
        Ok(theirs) => {
            let ours = ours.unwrap_or_else(|e| panic!("{text}: {e}"));
            assert_eq!(write(&ours).unwrap(), serde_json::to_string(&theirs).unwrap(), "{text}");
        }
        Err(_) => assert!(ours.is_err(), "{text} is read as {ours:?}"),
    }
}

/// Names that fall, each put before all others, would take minutes: a file from elsewhere might hold this many.
#[test]
fn names_in_any_order_are_read_alike() {
    let text = |names: &mut dyn Iterator<Item = u32>| {
        let all: Vec<String> = names.map(|n| format!("\"{n:06}\":{n}")).collect();
        format!("{{{}}}", all.join(","))
    };
    let rising = read::<Json>(&text(&mut (0..200_000))).expect("is JSON");
    assert!(rising == read::<Json>(&text(&mut (0..200_000).rev())).expect("is JSON"));
    check(r#"{"b":1,"a":2,"b":3,"c":4,"a":5,"b":6}"#);
}

#[test]
fn reads_what_is_json_and_nothing_else() {
    for text in [
        "null",
        " true ",
        "false",
        "nul",
        "truely",
        "[]",
        "[ ]",
        "[1,]",
        "[,1]",
        "[1 2]",
        "{}",
        "{\"a\":1,\"b\":[{}]}",
        "{\"b\":1,\"a\":2,\"b\":3}",
        "{\"a\" 1}",
        "{a:1}",
        "{\"a\":1,}",
        "{\"a\":1",
        "[1",
        "",
        " ",
        "1 2",
        "\"\"",
        "\"a\\n\\\"\\\\\\/\\b\\f\\r\\t\"",
        "\"\\u00e9 \\ud83d\\ude00 é 😀\"",
        "\"\\ud83d\"",
        "\"\\ud83dx\"",
        "\"\\ud83d\\n\"",
        "\"\\ud83d\\u0041\"",
        "\"\\ude00\"",
        "\"\\u12\"",
        "\"\\u00é1\"",
        "\"\\é\"",
        "\"\\x\"",
        "\"\\",
        "\"\n\"",
        "\"open",
        "0",
        "-0",
        "-0.0",
        "00",
        "01",
        "-",
        "+1",
        ".5",
        "5.",
        "1e",
        "1e+",
        "1E5",
        "1e-5",
        "-12",
        "0.1e1",
        "1e400",
        "-1e400",
        "1e-400",
        "0e999999999999999999999",
        "1e99999999999999999999",
        "9223372036854775807",
        "-9223372036854775807",
        "0.30000000000000004",
        "NaN",
    ] {
        check(text);
    }
    let deep = |n: usize| "[".repeat(n) + &"]".repeat(n);
    check(&deep(100));
    check(&deep(200));
    check(&deep(200_000));
}

/// One of each shape that can be written.
#[derive(Clone, Debug, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
enum Shape {
    Unit,
    One(f64),
    Two(u8, i64),
    Named { text: String, maybe: Option<char>, nothing: () },
    Map(std::collections::BTreeMap<String, Vec<Shape>>),
    Tuple([bool; 2], Wrapped, Empty),
}

#[derive(Clone, Debug, serde::Serialize)]
struct Wrapped(f64);

#[derive(Clone, Debug, serde::Serialize)]
struct Empty;

fn any_shape() -> impl Strategy<Value = Shape> {
    let leaf = prop_oneof![
        Just(Shape::Unit),
        any::<f64>().prop_map(Shape::One),
        any::<u64>().prop_map(|bits| Shape::One(f64::from_bits(bits))),
        (any::<u8>(), any::<i64>()).prop_map(|(a, b)| Shape::Two(a, b)),
        ("[\\x00-\\x7fé]{0,9}", any::<Option<char>>()).prop_map(|(text, maybe)| Shape::Named {
            text,
            maybe,
            nothing: ()
        }),
        (any::<[bool; 2]>(), any::<f64>()).prop_map(|(b, x)| Shape::Tuple(b, Wrapped(x), Empty)),
    ];
    leaf.prop_recursive(3, 20, 4, |inner| {
        prop::collection::btree_map(any::<String>(), prop::collection::vec(inner, 0..4), 0..4)
            .prop_map(Shape::Map)
    })
}

proptest! {
    #[test]
    fn writes_as_serde_json_does(shape in any_shape()) {
        prop_assert_eq!(write(&shape).unwrap(), serde_json::to_string(&shape).unwrap());
    }
}

#[test]
fn only_strings_are_names() {
    let odd = std::collections::BTreeMap::from([(Some("a"), 1)]);
    let worse = std::collections::BTreeMap::from([([1_u8], 1)]);
    assert_eq!(write(&odd).unwrap(), "{\"a\":1}");
    assert!(write(&worse).is_err());
}

#[test]
fn long_numbers_are_the_nearest() {
    // Half way, and just off it, where the last bit turns: against the standard library.
    for text in [
        "9007199254740993",
        "9007199254740992.99999999999999999999999999999999999999",
        "0.1000000000000000055511151231257827",
        "2.2250738585072011e-308",
        "2.2250738585072014e-308",
        "4.9e-324",
        "2.4703282292062327e-324",
        "2.4703282292062328e-324",
        "1.7976931348623157e308",
        "1.7976931348623158e308",
        "179769313486231580793728971405303415079934132710037826936173778980444968292764750946649017977587207096330286416692887910946555547851940402630657488671505820681908902000708383676273854845817711531764475730270069855571366959622842914819860834936475292719074168444365510704342711559699508093042880",
    ] {
        read_as_std_does(text);
    }
    let halfway = format!(
        "1.{}1e0",
        "00000000000000011102230246251565404236316680908203125".to_owned() + &"0".repeat(900)
    );
    read_as_std_does(&halfway);
}

fn read_as_std_does(text: &str) {
    let expected = text.parse::<f64>().unwrap();
    match read::<f64>(text) {
        Ok(got) => assert_eq!(got.to_bits(), expected.to_bits(), "{text}"),
        Err(_) => assert!(expected.is_infinite(), "{text}"),
    }
}

proptest! {
    #[test]
    fn any_number_is_the_nearest(bits in any::<u64>()) {
        let x = f64::from_bits(bits & !(1 << 63));
        if x.is_finite() {
            read_as_std_does(&format!("{x:e}"));
            read_as_std_does(&format!("{x:.25e}"));
        }
    }

    #[test]
    fn any_digits_are_the_nearest(text in "[1-9][0-9]{0,30}(\\.[0-9]{1,30})?(e-?[0-9]{1,3})?") {
        read_as_std_does(&text);
    }

    #[test]
    fn half_way_goes_to_the_even_one(bits in 0_u64..0x7fe0_0000_0000_0000, more in 0_u8..3) {
        // The middle of two neighbours, written out in full by the standard library: exact within its two halves.
        let (low, high) = (f64::from_bits(bits), f64::from_bits(bits + 1));
        if (1e-3..1e15).contains(&low) {
            let middle = format!("{low:.90}");
            let step = format!("{:.90}", (high - low) / 2.0);
            let sum = added(&middle, &step);
            read_as_std_does(&match more { 0 => sum, 1 => sum + "1", _ => sum + "000000000000000000000000000000000001" });
        }
    }

    #[test]
    fn any_json_goes_there_and_back(text in any_json(), deep in 0..3_usize) {
        let text = (0..deep).fold(text, |t, _| format!("{{\"x\": [{t}, {t}]}}"));
        check(&text);
        let value = serde_json::from_str::<Value>(&text).unwrap();
        prop_assert_eq!(spread(&serde_json::to_string(&value).unwrap()), serde_json::to_string_pretty(&value).unwrap());
    }

    #[test]
    fn whatever_is_sent_is_read_or_refused(text in "[\\[\\]{}\",:0-9eE.+\\-\\\\utrnafls é]{0,40}") {
        check(&text);
    }
}

/// The sum of two decimals with as many places each.
fn added(a: &str, b: &str) -> String {
    let width = a.len().max(b.len());
    let (a, b) = (format!("{a:0>width$}"), format!("{b:0>width$}"));
    let mut carry = 0;
    let mut out: Vec<u8> = Vec::new();
    for (p, q) in a.bytes().zip(b.bytes()).rev() {
        if p == b'.' {
            out.push(b'.');
            continue;
        }
        let sum = p - b'0' + (q - b'0') + carry;
        out.push(b'0' + sum % 10);
        carry = sum / 10;
    }
    out.push(b'0' + carry);
    let text: String = out.into_iter().rev().map(char::from).collect();
    let text = text.trim_start_matches('0');
    if text.starts_with('.') { format!("0{text}") } else { text.to_owned() }
}

fn any_json() -> impl Strategy<Value = String> {
    let leaf = prop_oneof![
        Just("null".to_owned()),
        any::<bool>().prop_map(|b| b.to_string()),
        any::<i64>().prop_map(|n| n.to_string()),
        any::<f64>()
            .prop_filter("finite", |x| x.is_finite())
            .prop_map(|x| serde_json::to_string(&x).unwrap()),
        any::<String>().prop_map(|t| serde_json::to_string(&t).unwrap()),
        ".{0,9}[\\[\\]{}\",:\\\\]{0,9}".prop_map(|t| serde_json::to_string(&t).unwrap()),
    ];
    leaf.prop_recursive(4, 40, 6, |inner| {
        prop_oneof![
            prop::collection::vec(inner.clone(), 0..6).prop_map(|v| format!("[{}]", v.join(","))),
            prop::collection::vec(("[a-f\"\\\\]{0,2}", inner), 0..6).prop_map(|v| {
                let entry = |(k, v): &(String, String)| format!("{}:{v}", serde_json::to_string(k).unwrap());
                format!("{{{}}}", v.iter().map(entry).collect::<Vec<_>>().join(","))
            }),
        ]
    })
}
