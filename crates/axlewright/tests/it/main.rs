//! The program from outside: the real binary in folders of its own, and `run` without a process.

mod book;
mod calls;
mod common;
mod demo;
mod dossier;
mod files;
mod in_process;
mod joints;
mod order;
mod photographs;
mod quick;
mod served;
mod shape;
mod web;
mod wheels;
