//! Fault codes in their standard form: all 65,536 of SAE J2012 / ISO 15031-6, and what only looks like one.

use std::collections::BTreeSet;

use ruleout::resolve::is_fault_code;

/// 16 bits as text, from the standard's definition: two bits for the letter, two for the first digit, three times four.
fn text(bits: u16) -> String {
    let letter = ["P", "C", "B", "U"][usize::from(bits >> 14)];
    format!("{letter}{}{:03X}", (bits >> 12) & 3, bits & 0xFFF)
}

/// The bits of a text.
fn bits(text: &str) -> u16 {
    let letter = "PCBU".find(&text[..1]).unwrap() as u16;
    letter << 14 | text[1..2].parse::<u16>().unwrap() << 12 | u16::from_str_radix(&text[2..], 16).unwrap()
}

#[test]
fn every_pattern_of_16_bits_is_one_code() {
    let all: BTreeSet<String> = (0..=u16::MAX).map(text).collect();
    assert_eq!(all.len(), 65_536);
    for number in 0..=u16::MAX {
        let code = text(number);
        assert!(is_fault_code(&code), "{code}");
        assert_eq!(bits(&code), number, "{code}");
    }
    assert_eq!(text(0x4123), "C0123");
    assert_eq!(text(0x0562), "P0562");
}

#[test]
fn no_other_text_of_five_signs_is_a_code() {
    // All texts over the signs of the form and some beside them: exactly 65,536 are codes.
    let signs: Vec<char> = "0123456789ABCDEFGOPUXl".chars().collect();
    let mut codes = 0u32;
    let mut each = String::new();
    for a in &signs {
        for b in &signs {
            for c in &signs {
                for d in &signs {
                    for e in &signs {
                        each.clear();
                        each.extend([a, b, c, d, e]);
                        codes += u32::from(is_fault_code(&each));
                    }
                }
            }
        }
    }
    assert_eq!(codes, 65_536);
}

#[test]
fn what_only_looks_like_a_code_is_none() {
    for text in [
        "P4000", "X0100", "P012", "POlOO", "P01234", "p0123", "P01g3", "P012a", " P0123", "P0123 ", "", "Р0123",
        "P0１23",
    ] {
        assert!(!is_fault_code(text), "{text:?}");
    }
}
