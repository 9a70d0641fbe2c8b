use super::declared::DECLARED;
use super::*;
use std::fs;

fn scratch(name: &str) -> PathBuf {
    let dir = std::env::temp_dir().join(format!("lw-settings-{name}-{}", std::process::id()));
    let _ = fs::remove_dir_all(&dir);
    fs::create_dir_all(&dir).unwrap();
    dir
}

fn flags(key: Key, text: &str) -> Flags {
    let mut values = vec![None; DECLARED.len()];
    values[key as usize] = Some(text.to_owned());
    Flags { file: None, values }
}

#[test]
fn a_flag_wins_over_the_environment_over_the_file_over_the_default() {
    let dir = scratch("order");
    let file = dir.join("lotwarden.toml");
    fs::write(&file, "listen = \"127.0.0.1:3\"\nworkers = 7\n").unwrap();
    let here = dir.display().to_string();
    let environment = |name: &str| match name {
        "LOTWARDEN_DATA_DIR" => Some(here.clone()),
        "LOTWARDEN_LISTEN" => Some("127.0.0.1:2".to_owned()),
        _ => None,
    };
    let settings = Settings::resolve(&flags(Key::Listen, "127.0.0.1:1"), &environment).unwrap();
    assert_eq!(settings.listen.port(), 1);
    let settings = Settings::resolve(&Flags::default(), &environment).unwrap();
    assert_eq!(settings.listen.port(), 2);
    assert_eq!(settings.workers, 7);
    let Sources { found, .. } = Sources::find(&Flags::default(), &environment).unwrap();
    assert_eq!(found[Key::Workers as usize].origin, Origin::File(file));
    assert_eq!(found[Key::Log as usize].origin, Origin::Default);
    assert_eq!(settings.master_key_file, dir.join("master.key"));
    fs::remove_dir_all(dir).unwrap();
}

#[test]
fn an_unknown_key_in_the_file_is_named() {
    let dir = scratch("unknown");
    fs::write(dir.join("lotwarden.toml"), "listne = \"127.0.0.1:3\"\n").unwrap();
    let refused = Settings::resolve(&flags(Key::DataDir, &dir.display().to_string()), &|_| None);
    let text = refused.unwrap_err().to_string();
    assert!(text.contains("`listne`"), "{text}");
    fs::remove_dir_all(dir).unwrap();
}

#[test]
fn a_malformed_value_is_refused_without_being_repeated() {
    let environment = |name: &str| match name {
        "LOTWARDEN_DATA_DIR" => Some("/tmp/lw-none".to_owned()),
        "LOTWARDEN_DATABASE_URL" => Some("hunter2".to_owned()),
        _ => None,
    };
    let refused = Settings::resolve(&Flags::default(), &environment).unwrap_err();
    assert!(matches!(
        refused,
        SettingsError::Invalid {
            name: "database_url",
            ..
        }
    ));
    assert!(!format!("{refused} {refused:?}").contains("hunter2"));
}

#[test]
fn an_owner_login_without_a_service_login_is_refused() {
    let environment = |name: &str| match name {
        "LOTWARDEN_DATA_DIR" => Some("/tmp/lw-none".to_owned()),
        "LOTWARDEN_OWNER_URL" => Some("postgres://o:p@db.example/lots".to_owned()),
        _ => None,
    };
    let refused = Settings::resolve(&Flags::default(), &environment).unwrap_err();
    assert!(matches!(refused, SettingsError::OwnerAlone));
}
