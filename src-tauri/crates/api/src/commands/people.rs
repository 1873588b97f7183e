use super::sentence;
use crate::Failure;
use crate::ask::{Ask, Stamp};
use crate::table::{self, Command};
use crate::wire::people::{
    DeviceLine, Invite, InviteInput, PersonInput, PersonLine, WithdrawInput,
};
use crate::wire::{Done, Nothing};
use sha2::{Digest, Sha256};
use slotkeep_domain::journal::{Body, DeviceWithdrawn};
use slotkeep_domain::people::{Device, Person, Role};
use slotkeep_domain::register::View;
use slotkeep_store::Reader;

pub(super) fn commands() -> Vec<Command> {
    vec![
        table::ask("people.list", "Lists people and their roles.", list),
        table::record("people.set", "Adds a person or changes roles.", table::OWNER, set),
        table::ask("device.list", "Lists the devices that were let in.", devices)
            .only(table::OWNER),
        table::record("device.invite", "Makes a pass for one device.", table::OWNER, invite),
        table::record("device.withdraw", "Lets a device in no longer.", table::OWNER, withdraw),
    ]
}

/// The device that shows a pass, unless it was withdrawn.
pub(crate) fn device_with(r: &Reader<'_>, pass: &str) -> Result<Option<Device>, Failure> {
    let found = r.device_with_pass(&digest(pass))?;
    Ok(found.filter(|device| !device.withdrawn))
}

pub(super) fn digest(pass: &str) -> String {
    sentence::hex(&Sha256::digest(pass.trim().as_bytes()))
}

fn list(ask: &Ask<'_>, _: Nothing) -> Result<Vec<PersonLine>, Failure> {
    ask.read(|r| {
        let lines = r
            .people()?
            .into_iter()
            .map(|person| PersonLine { name: person.name, roles: words(&person.roles) });
        Ok(lines.collect())
    })
}

fn words(roles: &[Role]) -> Vec<String> {
    roles.iter().map(|role| role.word().to_owned()).collect()
}

fn set(ask: &Ask<'_>, stamp: &Stamp, input: PersonInput) -> Result<Done, Failure> {
    let roles = input.roles.iter().map(|word| Role::parse(word)).collect::<Result<Vec<_>, _>>();
    let person =
        Person { name: input.name.trim().to_owned(), roles: roles.map_err(Failure::bad_input)? };
    if person.name.is_empty() {
        return Err(Failure::bad_input("the name is empty: write who it is"));
    }
    let message = format!("roles of {} are recorded", person.name);
    let recorded = ask.record(stamp, Body::PersonSet(person))?;
    Ok(Done { entry: stamp.id, repeated: recorded.repeated, message })
}

fn devices(ask: &Ask<'_>, _: Nothing) -> Result<Vec<DeviceLine>, Failure> {
    ask.read(|r| {
        let lines = r.devices()?.into_iter().map(|device| DeviceLine {
            device: device.id,
            title: device.title,
            person: device.person,
            roles: words(&device.roles),
            withdrawn: device.withdrawn,
            calendar_only: device.calendar_only,
        });
        Ok(lines.collect())
    })
}

fn invite(ask: &Ask<'_>, stamp: &Stamp, input: InviteInput) -> Result<Invite, Failure> {
    let pass = new_pass()?;
    let recorded = ask.record_within(stamp, |r| {
        let person = r.person(&input.person).ok_or_else(|| {
            Failure::not_found(format!(
                "{} is not in the list of people: add the person and the roles first",
                input.person
            ))
        })?;
        Ok(Body::DeviceAdmitted(Device {
            id: stamp.id,
            title: input.title.clone(),
            person: person.name,
            roles: person.roles,
            pass_digest: digest(&pass),
            withdrawn: false,
            calendar_only: false,
        }))
    })?;
    if recorded.repeated {
        return Err(Failure::refused(
            "this pass was made before and is shown only once: withdraw the device and make a \
             new pass",
        ));
    }
    Ok(Invite {
        device: stamp.id,
        pass,
        made_at: stamp.at,
        message: format!(
            "open the door's address on the device of {} and type the pass",
            input.person
        ),
    })
}

/// 100 random bits in groups of five letters and digits that are hard to mistake.
pub(super) fn new_pass() -> Result<String, Failure> {
    const ALPHABET: &[u8; 32] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ";
    let mut bytes = [0u8; 20];
    getrandom::fill(&mut bytes).map_err(|error| {
        Failure::new(crate::FailureKind::Broken, format!("the system gave no random bits: {error}"))
    })?;
    let letters: Vec<char> =
        bytes.iter().map(|byte| char::from(ALPHABET[usize::from(byte % 32)])).collect();
    let groups: Vec<String> = letters.chunks(5).map(|group| group.iter().collect()).collect();
    Ok(groups.join("-"))
}

fn withdraw(ask: &Ask<'_>, stamp: &Stamp, input: WithdrawInput) -> Result<Done, Failure> {
    let body =
        Body::DeviceWithdrawn(DeviceWithdrawn { device: input.device, reason: input.reason });
    let recorded = ask.record(stamp, body)?;
    let message = "the device is let in no longer".to_owned();
    Ok(Done { entry: stamp.id, repeated: recorded.repeated, message })
}
