//! What a process takes while it runs: seconds of wall time, and the most memory.

use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// Runs a command to its end, which must come with one of these codes. Seconds of wall time, and the kilobytes that were resident at most,
/// as the kernel keeps them for that process alone (`VmHWM`), looked at every millisecond.
pub fn seconds_and_kilobytes(command: &mut Command, codes: &[i32]) -> (f64, f64) {
    command.stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
    let begin = Instant::now();
    let mut child = command.spawn().unwrap();
    let status = format!("/proc/{}/status", child.id());
    let mut most: f64 = 0.0;
    loop {
        // What has ended has no such line any more.
        let text = std::fs::read_to_string(&status).unwrap_or_default();
        let line = text.lines().find_map(|line| line.strip_prefix("VmHWM:"));
        if let Some(kilobytes) = line.and_then(|line| line.trim().strip_suffix(" kB")) {
            most = most.max(kilobytes.parse().unwrap());
        }
        if let Some(ended) = child.try_wait().unwrap() {
            assert!(ended.code().is_some_and(|code| codes.contains(&code)), "{command:?} ended with {ended}");
            assert!(most > 0.0, "{status} says nothing of memory: this needs Linux");
            return (begin.elapsed().as_secs_f64(), most);
        }
        std::thread::sleep(Duration::from_millis(1));
    }
}
