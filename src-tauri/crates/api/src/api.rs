use crate::ask::Ask;
use crate::commands;
use crate::known::Register;
use crate::{Access, Caller, Command, Failure, FailureKind, File, Payload, Progress, Reply};
use chrono::{DateTime, Utc};
use slotkeep_domain::register::View;
use slotkeep_store::Store;
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::sync::{Mutex, PoisonError};

/// The commands over one store.
pub struct Api {
    store: Store,
    commands: BTreeMap<&'static str, Command>,
    listeners: Mutex<Vec<Listener>>,
    register: Register,
}

type Listener = Box<dyn Fn(&Notice) -> bool + Send>;

/// What was recorded, for screens that show it.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Notice {
    /// The command that did it.
    pub command: String,
    /// Labels, addresses, tags and part numbers that it was about; empty after an import.
    pub subjects: Vec<String>,
}

impl Api {
    pub fn new(store: Store) -> Self {
        let commands = commands::all().into_iter().map(|c| (c.name, c)).collect();
        Self { store, commands, listeners: Mutex::default(), register: Register::default() }
    }

    pub fn store(&self) -> &Store {
        &self.store
    }

    /// Who uses the device that shows a pass, with the roles that the person has now.
    pub fn caller_with_pass(&self, pass: &str) -> Result<Option<Caller>, Failure> {
        self.store.read(|r| {
            let device = commands::device_with(r, pass)?.filter(|device| !device.calendar_only);
            let Some(device) = device else { return Ok(None) };
            let roles = r.person(&device.person).map_or(device.roles, |person| person.roles);
            Ok(Some(Caller { person: device.person, device: device.title, roles }))
        })
    }

    /// The calendar of visits, for whoever shows a pass that was made for it; none where the pass
    /// is none of these or was withdrawn.
    pub fn calendar(&self, pass: &str, now: DateTime<Utc>) -> Result<Option<File>, Failure> {
        let device = self.store.read(|r| commands::device_with(r, pass))?;
        let Some(device) = device.filter(|device| device.calendar_only) else { return Ok(None) };
        let caller = Caller { person: device.person, device: device.title, roles: Vec::new() };
        let mut hear = |_: &str, _: u64, _: u64| {};
        let ask = self.ask(&caller, now, &mut hear);
        commands::calendar(&ask).map(Some)
    }

    fn ask<'a>(
        &'a self,
        caller: &'a Caller,
        now: DateTime<Utc>,
        hear: &'a mut Progress<'a>,
    ) -> Ask<'a> {
        Ask {
            store: &self.store,
            register: &self.register,
            caller,
            now,
            progress: RefCell::new(hear),
            recorded: RefCell::default(),
        }
    }

    /// Number of the newest entry of the journal.
    pub fn head(&self) -> Result<i64, Failure> {
        self.store.read(|r| Ok(r.head()?.0))
    }

    /// Every command, by name.
    pub fn commands(&self) -> impl Iterator<Item = &Command> {
        self.commands.values()
    }

    pub fn command(&self, name: &str) -> Option<&Command> {
        self.commands.get(name)
    }

    /// Calls `hear` after each write until it answers false.
    pub fn listen(&self, hear: impl Fn(&Notice) -> bool + Send + 'static) {
        let mut listeners = self.listeners.lock().unwrap_or_else(PoisonError::into_inner);
        listeners.push(Box::new(hear));
    }

    /// Answers one command.
    ///
    /// Roles are checked before the input is looked at. `progress` hears of long work.
    pub fn call(
        &self,
        name: &str,
        payload: Payload,
        caller: &Caller,
        now: DateTime<Utc>,
        progress: &mut Progress<'_>,
    ) -> Result<Reply, Failure> {
        let command = self.command(name).ok_or_else(|| {
            Failure::not_found(format!("there is no command {name:?}: see the list of commands"))
        })?;
        if !command.roles.is_empty() && !caller.may(command.roles) {
            return Err(Failure::new(FailureKind::NotAllowed, not_allowed(command, caller)));
        }
        // The closure ties the listener's lifetime to this call.
        let mut hear = |what: &str, done: u64, total: u64| progress(what, done, total);
        let ask = self.ask(caller, now, &mut hear);
        let reply = (command.run)(&ask, payload)?;
        if command.access == Access::Write {
            let subjects = ask.recorded.into_inner();
            self.tell(&Notice { command: name.to_owned(), subjects });
        }
        Ok(reply)
    }

    fn tell(&self, notice: &Notice) {
        let mut listeners = self.listeners.lock().unwrap_or_else(PoisonError::into_inner);
        listeners.retain(|hear| hear(notice));
    }
}

fn not_allowed(command: &Command, caller: &Caller) -> String {
    let roles: Vec<_> = command.roles.iter().map(|role| role.word()).collect();
    format!(
        "{} may not do this ({}): it takes the role {}; ask the owner of the store",
        caller.person,
        command.name,
        roles.join(" or ")
    )
}
