//! Scripts of strangers. Each says on its first line how it is refused: `//! refused: the script took more than`.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use visviva::ceiling::Limits;
use visviva::session::{Config, Session};

fn scripts() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("hostile");
    let mut found: Vec<PathBuf> = std::fs::read_dir(folder)
        .expect("the folder of hostile scripts")
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.extension().is_some_and(|end| end == "rhai"))
        .collect();
    found.sort();
    found
}

#[test]
fn every_hostile_script_is_refused_as_it_says() {
    let mut wrong = Vec::new();
    let scripts = scripts();
    assert!(scripts.len() >= 25, "only {} hostile scripts", scripts.len());
    for path in scripts {
        let text = std::fs::read_to_string(&path).expect("a script");
        let refusal = text.lines().next().and_then(|line| line.strip_prefix("//! refused: ")).expect("a refusal");
        let limits =
            Limits { operations: 300_000, time: Some(Duration::from_secs(20)), output: 10_000, memory: 64 << 20 };
        let session =
            Session::new(Config { limits, ..Config::default() }.reading(path.parent().expect("a folder").join("cell")));
        let outcome = session.evaluate("hostile", &text);
        match outcome.diagnostics.first() {
            None => wrong.push(format!("{} was not refused", path.display())),
            Some(diagnostic) if diagnostic.what.starts_with(refusal) => {}
            Some(diagnostic) => wrong.push(format!("{}: {}", path.display(), diagnostic.what)),
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_clock_and_the_flag_end_a_script() {
    let limits = Limits { time: Some(Duration::from_millis(200)), ..Limits::default() };
    let started = Instant::now();
    let outcome = Session::new(Config { limits, ..Config::default() }).evaluate("hostile", "loop { }");
    assert_eq!(outcome.status(), 1);
    assert!(started.elapsed() < Duration::from_secs(10));

    let interrupt = Arc::new(AtomicBool::new(false));
    let flag = Arc::clone(&interrupt);
    let later = std::thread::spawn(move || {
        std::thread::sleep(Duration::from_millis(100));
        flag.store(true, Ordering::SeqCst);
    });
    let outcome = Session::new(Config { interrupt, ..Config::default() })
        .evaluate("hostile", "loop { try { loop { } } catch { } }");
    later.join().expect("the other thread");
    assert_eq!(outcome.status(), 130);
}

#[test]
fn answers_are_the_same_bytes_every_time() {
    let text = r#"let s = solve(#{ guess: #{ a: 1.km, b: 1.s }, residuals: |u| [u.a - 3.km, u.b - 4.s] });
        let f = |x| x * 2; print(f); record("s", s); #{ z: s.x, a: [f, 1.km], text: `${s}` }"#;
    let run = || {
        let outcome = Session::new(Config::default()).evaluate("same", text);
        let answer = outcome.answer.expect("an answer");
        format!("{}{}{}", answer.shown, answer.json, outcome.printed)
    };
    assert_eq!(run(), run());
}
