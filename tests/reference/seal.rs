//! Canonical JSON against the examples of RFC 8785, and Ed25519 against those of RFC 8032.

use gaugewright::record::seal::{PlantKey, canonical};
use serde_json::Value;

fn form(json: &str) -> String {
    let value: Value = serde_json::from_str(json).unwrap();
    canonical(&value).unwrap()
}

#[test]
fn the_example_of_rfc_8785_section_3_2_2_is_written_as_printed_there() {
    let given = r#"{
      "numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],
      "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
      "literals": [null, true, false]
    }"#;
    let printed = "{\"literals\":[null,true,false],\"numbers\":[333333333.3333333,1e+30,4.5,0.002,1e-27],\"string\":\"\u{20ac}$\\u000f\\nA'B\\\"\\\\\\\\\\\"/\"}";
    assert_eq!(form(given), printed);
}

#[test]
fn names_are_sorted_by_utf_16_units_as_in_rfc_8785_section_3_2_3() {
    let given = r#"{"\u20ac":"Euro Sign","\r":"Carriage Return","\ufb33":"Hebrew Letter Dalet With Dagesh",
      "1":"One","\ud83d\ude00":"Emoji: Grinning Face","\u0080":"Control","\u00f6":"Latin Small Letter O With Diaeresis"}"#;
    let order = [
        "Carriage Return",
        "One",
        "Control",
        "Latin Small Letter O With Diaeresis",
        "Euro Sign",
        "Emoji: Grinning Face",
        "Hebrew Letter Dalet With Dagesh",
    ];
    let written = form(given);
    let places: Vec<usize> = order
        .iter()
        .map(|words| written.find(words).unwrap())
        .collect();
    assert!(places.is_sorted(), "{written}");
}

/// published: RFC 8785, appendix B, every sample that is a number, by its IEEE 754 bits; the same list in
/// several public test suites, and the shortest decimals agree with those of Python's `repr`.
#[test]
fn numbers_are_written_as_in_rfc_8785_appendix_b() {
    for (bits, written) in [
        (0x0000_0000_0000_0000, "0"),
        (0x8000_0000_0000_0000, "0"),
        (0x0000_0000_0000_0001, "5e-324"),
        (0x8000_0000_0000_0001, "-5e-324"),
        (0x7fef_ffff_ffff_ffff, "1.7976931348623157e+308"),
        (0xffef_ffff_ffff_ffff, "-1.7976931348623157e+308"),
        (0x4340_0000_0000_0000, "9007199254740992"),
        (0xc340_0000_0000_0000, "-9007199254740992"),
        (0x4430_0000_0000_0000, "295147905179352830000"),
        (0x44b5_2d02_c7e1_4af5, "9.999999999999997e+22"),
        (0x44b5_2d02_c7e1_4af6, "1e+23"),
        (0x44b5_2d02_c7e1_4af7, "1.0000000000000001e+23"),
        (0x444b_1ae4_d6e2_ef4e, "999999999999999700000"),
        (0x444b_1ae4_d6e2_ef4f, "999999999999999900000"),
        (0x444b_1ae4_d6e2_ef50, "1e+21"),
        (0x3eb0_c6f7_a0b5_ed8c, "9.999999999999997e-7"),
        (0x3eb0_c6f7_a0b5_ed8d, "0.000001"),
        (0x41b3_de43_5555_5553, "333333333.3333332"),
        (0x41b3_de43_5555_5554, "333333333.33333325"),
        (0x41b3_de43_5555_5555, "333333333.3333333"),
        (0x41b3_de43_5555_5556, "333333333.3333334"),
        (0x41b3_de43_5555_5557, "333333333.33333343"),
        (0xbecb_f647_612f_3696, "-0.0000033333333333333333"),
        (0x4314_3ff3_c1cb_0959, "1424953923781206.2"),
    ] {
        assert_eq!(
            canonical(&f64::from_bits(bits)).unwrap(),
            written,
            "{bits:x}"
        );
    }
}

/// RFC 8032, section 7.1, tests 1 and 2.
#[test]
fn signatures_are_those_of_rfc_8032() {
    for (secret, public, message, signature) in [
        (
            "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
            "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
            "",
            "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b",
        ),
        (
            "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
            "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
            "r",
            "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00",
        ),
    ] {
        let bytes: Vec<u8> = (0..32)
            .map(|i| u8::from_str_radix(&secret[2 * i..2 * i + 2], 16).unwrap())
            .collect();
        let key = PlantKey::of(&bytes.try_into().unwrap());
        assert_eq!(key.public().public_key, public);
        assert_eq!(key.sign(message), signature);
        assert!(key.public().signed(message, signature));
        assert!(!key.public().signed("s", signature));
        let again = PlantKey::from_pem(&key.pem().unwrap()).unwrap();
        assert_eq!(again.public(), key.public());
    }
}
