//! The `axlewright` command.

fn main() -> std::process::ExitCode {
    axlewright::main()
}
