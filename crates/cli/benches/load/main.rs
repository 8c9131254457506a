//! Requests against a workbench of its own: `cargo bench -p wattwright --bench load -- [seconds]`, 60 where nothing is said.
//!
//! 200 requests a second by the clock, whatever was answered so far, so that one that waits makes the next ones late too:
//! half of them readings told on forms, half pages, while pages stand open that hear of each change. Answers are traced
//! meanwhile. Then a site of 500 outlets with 20 000 readings is opened by a workbench that was just started.

mod client;
mod premises;

use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::Arc;
use std::time::{Duration, Instant};

use client::{Bench, Connection};
use tokio::sync::{Mutex, mpsc};

const RATE: u32 = 200;
/// Connections of browsers; one that waits does not keep the others.
const CONNECTIONS: usize = 24;
/// Pages that stand open.
const LISTENERS: usize = 4;

type Told = Result<(), Box<dyn std::error::Error + Send + Sync>>;

fn main() -> Told {
    let mut arguments = std::env::args().skip(1).filter(|it| it != "--bench");
    let seconds = arguments.next().and_then(|it| it.parse().ok());
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()?;
    runtime.block_on(async {
        load(seconds.unwrap_or(60)).await?;
        large().await
    })
}

/// The program itself, so that its memory can be told from ours.
struct Server(Child);

impl Drop for Server {
    fn drop(&mut self) {
        let _ = self.0.kill(); // it may have ended by itself
        let _ = self.0.wait();
    }
}

impl Server {
    fn start(data: &Path) -> std::io::Result<(Server, Bench)> {
        use std::io::BufRead;
        // another build of it may be named, to see what optimising is worth
        let program =
            std::env::var_os("WATTWRIGHT").unwrap_or(env!("CARGO_BIN_EXE_wattwright").into());
        let mut child = Command::new(program)
            .args(["open", "--no-browser", "--port", "0", "--data"])
            .arg(data)
            .stdout(Stdio::piped())
            .spawn()?;
        let out = child.stdout.take().ok_or(std::io::ErrorKind::BrokenPipe)?;
        let lines = std::io::BufReader::new(out).lines().map_while(Result::ok);
        let bench = lines.into_iter().find_map(|it| {
            let told = it.split(' ').find(|it| it.contains("/enter?pass="))?;
            Bench::at(told)
        });
        Ok((Server(child), bench.ok_or(std::io::ErrorKind::InvalidData)?))
    }

    /// The most memory that it ever had, in megabytes; none where the system does not say.
    fn peak(&self) -> Option<f64> {
        let status = std::fs::read_to_string(format!("/proc/{}/status", self.0.id())).ok()?;
        let line = status.lines().find_map(|it| it.strip_prefix("VmHWM:"))?;
        let kilobytes: f64 = line.trim().trim_end_matches("kB").trim().parse().ok()?;
        Some(kilobytes * 1024.0 / 1e6)
    }
}

fn say(what: &str, goal: &str, measured: &str) {
    println!("{what:<58} {goal:>12} {measured:>22}");
}

fn peak(server: &Server, goal: &str) {
    let peak = server.peak();
    let peak = peak.map_or("not told".to_owned(), |it| format!("{it:.0} MB"));
    say("  memory of the workbench at its peak", goal, &peak);
}

/// What came of one request.
struct Done {
    writes: bool,
    took: Duration,
    wrong: Option<String>,
}

async fn load(seconds: u32) -> Told {
    let folder = tempfile::tempdir()?;
    let data = folder.path().join("load.db");
    let premises = premises::make(&data, 40, 40).await?;
    let (server, bench) = Server::start(&data)?;
    let bench = Arc::new(bench);
    println!("{seconds} s, 40 outlets, all readings in one visit; goal and measured");
    let mut heard = Vec::new();
    for _ in 0..LISTENERS {
        heard.push(tokio::spawn(client::listen(
            bench.clone(),
            format!("/live?site={}", premises.site),
        )));
    }
    let idle = Arc::new(Mutex::new(Vec::new()));
    for _ in 0..CONNECTIONS {
        idle.lock()
            .await
            .push(Connection::open(bench.clone()).await?);
    }
    let (tell, mut told) = mpsc::unbounded_channel();
    let n = seconds * RATE;
    let began = Instant::now();
    for i in 0..n {
        let due = began + i * Duration::from_secs(1) / RATE;
        tokio::time::sleep_until(due.into()).await;
        let (idle, bench, tell) = (idle.clone(), bench.clone(), tell.clone());
        let request = premises.request(i);
        tokio::spawn(async move {
            let free = idle.lock().await.pop();
            let sent = async {
                let mut connection = match free {
                    Some(it) => it,
                    None => Connection::open(bench).await?,
                };
                let answer = connection.send(&request).await?;
                idle.lock().await.push(connection);
                Ok::<_, std::io::Error>(answer)
            };
            let wrong = match sent.await {
                Ok(answer) if answer.status == request.wants() => None,
                Ok(answer) => Some(format!("{}: {}", request.path(), answer.status)),
                Err(error) => Some(format!("{}: {error}", request.path())),
            };
            let _ = tell.send(Done {
                writes: request.writes(),
                took: due.elapsed(),
                wrong,
            });
        });
    }
    drop(tell);
    let mut done = Vec::new();
    while let Some(it) = told.recv().await {
        done.push(it);
    }
    let rate = done.len() as f64 / began.elapsed().as_secs_f64();
    say("  requests a second", "200", &format!("{rate:.0}"));
    for (what, writes) in [("readings told", true), ("pages", false)] {
        let mut took: Vec<Duration> = done
            .iter()
            .filter(|it| it.writes == writes)
            .map(|it| it.took)
            .collect();
        took.sort_unstable();
        let at = |share: f64| took[((took.len() - 1) as f64 * share) as usize];
        say(
            &format!("  {what}: {}, half within", took.len()),
            "",
            &format!("{:.1?}", at(0.5)),
        );
        say(
            "    99 of 100 within",
            "50 ms",
            &format!("{:.1?}", at(0.99)),
        );
        say("    the longest", "", &format!("{:.1?}", at(1.0)));
    }
    let wrong: Vec<&String> = done.iter().filter_map(|it| it.wrong.as_ref()).collect();
    say("  errors", "0", &wrong.len().to_string());
    for it in wrong.iter().take(5) {
        println!("    {it}");
    }
    let visits = Connection::open(bench.clone())
        .await?
        .get(&format!("/site/{}/visits", premises.site))
        .await?;
    let kept = visits
        .text()
        .contains(&format!("{} readings", premises.told(n)));
    let sent = format!(
        "{} of {}",
        if kept { "each once" } else { "NOT each once" },
        premises.told(n)
    );
    say("  readings kept", "each once", &sent);
    for it in heard {
        it.abort();
    }
    peak(&server, "150 MB");
    Ok(())
}

async fn large() -> Told {
    let folder = tempfile::tempdir()?;
    let data = folder.path().join("large.db");
    let premises = premises::make(&data, 500, 20_000).await?;
    let (server, bench) = Server::start(&data)?;
    let bench = Arc::new(bench);
    println!("a site of 500 outlets with 20 000 readings");
    let mut connection = Connection::open(bench).await?;
    let page = format!("/site/{}", premises.site);
    connection.get("/help").await?; // a page of another part: nothing is read for it
    for what in [
        "  opened first after a start",
        "  opened again",
        "  and again",
    ] {
        let began = Instant::now();
        let answer = connection.get(&page).await?;
        let took = began.elapsed();
        let sound = answer.status == 200 && answer.text().matches("class=\"place\"").count() >= 500;
        let size = answer.body.len() / 1000;
        let took = format!("{took:.1?}, {size} kB");
        say(what, "100 ms", if sound { &took } else { "NOT the page" });
    }
    for i in [0, 2] {
        let began = Instant::now();
        let told = connection.send(&premises.request(i)).await?;
        let tell = format!("{:.1?}, {}", began.elapsed(), told.status);
        say("  a reading told", "", &tell);
        let began = Instant::now();
        connection.get(&page).await?;
        say(
            "  opened after that",
            "100 ms",
            &format!("{:.1?}", began.elapsed()),
        );
    }
    peak(&server, "");
    Ok(())
}
