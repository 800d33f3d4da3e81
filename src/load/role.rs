//! What a file is, told from its path alone.
//!
//! In: a path relative to the base. Out: its [`Role`].

/// The tables, each one file at the top of the base.
pub const TABLES: [&str; 7] =
    ["shop.yaml", "vehicles.yaml", "codes.yaml", "equipment.yaml", "setups.yaml", "hazards.yaml", "terms.yaml"];

/// The folders of a base, whose files are read.
pub const FOLDERS: [&str; 7] = ["procedures", "specs", "systems", "checks", "repairs", "cases", "figures"];

/// What a file is. Ids are file names without the ending.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Role {
    /// One of [`TABLES`].
    Table(&'static str),
    /// `specs/*.yaml`.
    Specs,
    /// `systems/ID.md`.
    System(String),
    /// `checks/ID.md`.
    Check(String),
    /// `repairs/ID.md`.
    Repair(String),
    /// `procedures/**/ID.md`.
    Procedure(String),
    /// `cases/ID.yaml`.
    Case(String),
    /// A picture under `figures/`.
    Figure,
    /// A YAML file whose name is no table's, a file in one of our folders with another ending, or what stands where a folder is
    /// needed.
    Misnamed,
    /// Not ours (a README, a licence).
    Other,
}

/// The role of a path.
pub(super) fn of(path: &str) -> Role {
    let first = path.split('/').next().unwrap_or_default();
    // What cannot be entered is listed with `/` behind its name.
    if FOLDERS.contains(&first) && (path == first || path.ends_with('/')) {
        return Role::Misnamed;
    }
    let Some((folder, rest)) = path.split_once('/') else {
        return match TABLES.iter().find(|t| **t == path) {
            Some(table) => Role::Table(table),
            None if is_yaml(path) => Role::Misnamed,
            None => Role::Other,
        };
    };
    let stem = |ending: &str| rest.rsplit('/').next().and_then(|name| name.strip_suffix(ending)).map(str::to_owned);
    let flat = !rest.contains('/');
    let role = match folder {
        "figures" => return Role::Figure,
        "specs" if stem(".yaml").is_some() => Some(Role::Specs),
        "procedures" => stem(".md").map(Role::Procedure),
        "systems" if flat => stem(".md").map(Role::System),
        "checks" if flat => stem(".md").map(Role::Check),
        "repairs" if flat => stem(".md").map(Role::Repair),
        "cases" if flat => stem(".yaml").map(Role::Case),
        "specs" | "systems" | "checks" | "repairs" | "cases" => None,
        _ => return Role::Other,
    };
    match role {
        Some(role) => role,
        None if is_yaml(rest) || ending(rest) == "md" => Role::Misnamed,
        None => Role::Other,
    }
}

fn ending(path: &str) -> String {
    path.rsplit_once('.').map_or_else(String::new, |(_, ending)| ending.to_ascii_lowercase())
}

/// Whether a file is a drawing, which is text.
pub fn is_svg(path: &str) -> bool {
    ending(path) == "svg"
}

/// Whether browsers show a file as a picture, and as nothing else.
pub fn is_picture(path: &str) -> bool {
    ["svg", "png", "jpg", "jpeg", "webp", "gif", "avif"].contains(&ending(path).as_str())
}

fn is_yaml(path: &str) -> bool {
    ["yaml", "yml"].contains(&ending(path).as_str())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn paths_tell_roles() {
        assert_eq!(of("shop.yaml"), Role::Table("shop.yaml"));
        assert_eq!(of("vehicle.yaml"), Role::Misnamed);
        assert_eq!(of("README.md"), Role::Other);
        assert_eq!(of("procedures/cooling/fan.md"), Role::Procedure("fan".into()));
        assert_eq!(of("specs/a/b.yaml"), Role::Specs);
        assert_eq!(of("cases/1.yml"), Role::Misnamed);
        assert_eq!(of("procedures/notes.txt"), Role::Other);
        assert_eq!(of("figures/a/b.svg"), Role::Figure);
        assert_eq!(of("cases"), Role::Misnamed);
        assert_eq!(of("figures/engine/"), Role::Misnamed);
        assert_eq!(of("notes/"), Role::Other);
    }
}
