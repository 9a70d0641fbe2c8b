use serde_json::Value;

use super::*;

/// The example objects of a help text: what `echo` has in quotation marks.
fn examples(help: &str) -> Vec<&str> {
    help.split("echo '")
        .skip(1)
        .filter_map(|rest| rest.split('\'').next())
        .collect()
}

fn answers(computation: Computation, input: &str) -> (Vec<Value>, bool) {
    let mut output = Vec::new();
    let exit = compute_all(computation, input.as_bytes(), &mut output).unwrap();
    let lines = String::from_utf8(output).unwrap();
    let answers = lines
        .lines()
        .map(|line| serde_json::from_str(line).unwrap())
        .collect();
    (answers, exit == ExitCode::SUCCESS)
}

#[test]
fn every_example_of_the_help_computes_and_its_answer_is_described() {
    for computation in Computation::ALL.iter().copied() {
        let help = help(computation);
        let examples = examples(help);
        assert!(!examples.is_empty(), "{computation}");
        for example in examples {
            let (answers, good) = answers(computation, example);
            assert!(good, "{example}: {answers:?}");
            let fields_out = help.split_once("Fields out").unwrap().1;
            for name in answers[0].as_object().unwrap().keys() {
                assert!(fields_out.contains(name.as_str()), "{computation}: {name}");
            }
        }
    }
}

#[test]
fn a_help_text_fits_a_terminal() {
    for computation in Computation::ALL.iter().copied() {
        assert!(
            help(computation).lines().all(|line| line.len() <= 80),
            "{computation}"
        );
    }
}

#[test]
fn several_objects_have_a_line_each_and_one_fault_fails_the_run() {
    let (answers, good) = answers(
        Computation::Deadline,
        r#"{"aware_on": "2026-01-16"} {"aware_on": "soon"} {"aware_on": "2026-03-02"}"#,
    );
    assert!(!good);
    assert_eq!(answers.len(), 3);
    // 21 CFR 803.30(a), 5 USC 6103.
    assert_eq!(answers[0]["due_on"], "2026-02-02");
    assert_eq!(answers[1]["error"]["field"], "aware_on");
    assert_eq!(answers[1]["error"]["code"], "not_a_date");
    assert_eq!(answers[2]["due_on"], "2026-03-16");
}

#[test]
fn what_is_no_json_is_answered_too() {
    for (input, code) in [
        ("", "not_json"),
        (" \n", "not_json"),
        ("{", "not_json"),
        ("[1]", "not_an_object"),
        ("7", "not_an_object"),
    ] {
        let (answers, good) = answers(Computation::Helium, input);
        assert!(!good, "{input}");
        assert_eq!(answers.len(), 1, "{input}");
        assert_eq!(answers[0]["error"]["code"], code, "{input}");
    }
}

#[test]
fn a_field_given_twice_is_refused() {
    let (answers, good) = answers(
        Computation::Deadline,
        r#"{"aware_on": "2026-01-16", "aware_on": "2026-01-19"}"#,
    );
    assert!(!good);
    assert_eq!(answers[0]["error"]["code"], "conflict");
    assert_eq!(answers[0]["error"]["field"], "aware_on");
}

#[test]
fn a_persons_name_given_twice_is_not_repeated() {
    let input = r#"{"Marguerite Delacroix": 1, "Marguerite Delacroix": {"x": 1, "x": 2}}"#;
    let (answers, good) = answers(Computation::Deadline, input);
    assert!(!good);
    assert_eq!(answers[0]["error"]["faults"][0]["field"], "?.x");
    assert_eq!(answers[0]["error"]["faults"][1]["field"], "?");
    assert!(!answers[0].to_string().contains("Delacroix"));
}
