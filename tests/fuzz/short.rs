//! Twenty seconds of the fuzzer with every test run.

use visviva_tests::fuzz::{Campaign, Corpus};

#[test]
fn no_panic_and_no_hang_in_twenty_seconds() {
    let tally = Campaign { seconds: 20.0, seed: 20_311_207 }.run(&Corpus::of_the_tree());
    println!(
        "{} scripts, {} system files, {} values; answered with a value: {:?}",
        tally.executions[0], tally.executions[1], tally.executions[2], tally.answered
    );
    for failure in &tally.failures {
        println!("{}\n--- {:?} ---\n{}", failure.what, failure.kind, String::from_utf8_lossy(&failure.input));
    }
    assert!(tally.failures.is_empty(), "{} inputs broke a door", tally.failures.len());
    // A fuzzer whose texts are all refused at the first character would show nothing.
    assert!(tally.executions.iter().all(|count| *count > 50), "{:?}", tally.executions);
    assert!(tally.answered.iter().all(|count| *count > 0), "{:?}", tally.answered);
}
