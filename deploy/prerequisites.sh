# What deploy/up and tests/run need on a Debian 12 or 13 machine: installed from
# Debian's packages where it is missing and may be, named with the command where not.
# Sourced, not run.

say() { printf '%s\n' "$*"; }

fail() {
    printf '%s: %s\n' "$(basename "$0")" "$1" >&2
    shift
    for line in "$@"; do printf '    %s\n' "$line" >&2; done
    exit 1
}

as_root() {
    if [ "$(id -u)" -eq 0 ]; then
        "$@"
    else
        sudo -- "$@"
    fi
}

# install_packages WHY PACKAGE...
install_packages() {
    local why=$1
    shift
    local command="apt-get install -y --no-install-recommends $*"
    if ! command -v apt-get >/dev/null; then
        fail "$why missing, and this is not Debian; on Debian 12 or 13 it comes with" "$command"
    fi
    if [ "$(id -u)" -ne 0 ] && ! command -v sudo >/dev/null; then
        fail "$why missing, and there is neither root nor sudo to install it; as root, run" \
            "apt-get update && $command"
    fi
    say "installing $* ($why missing)"
    if [ -z "${package_lists_fresh:-}" ]; then
        as_root env DEBIAN_FRONTEND=noninteractive apt-get update -q ||
            fail "the package lists cannot be fetched; when the network is there, run" "apt-get update"
        package_lists_fresh=yes
    fi
    as_root env DEBIAN_FRONTEND=noninteractive \
        apt-get install -y -q --no-install-recommends "$@" ||
        fail "$why could not be installed; to see why, run" "$command"
}

# need_space DIRECTORY MEGABYTES FOR
need_space() {
    local free
    free=$(df -Pm "$1" | awk 'NR == 2 { print $4 }')
    [ "$free" -ge "$2" ] && return 0
    fail "$1 has $free MB free, and $3 want $2 MB; make room there, to see what takes it" "du -xsm $1/* | sort -n | tail"
}

have_postgresql() {
    local directory
    for directory in "${LOTWARDEN_PG_BIN:-}" /usr/lib/postgresql/*/bin "$(pg_config --bindir 2>/dev/null)"; do
        [ -n "$directory" ] && [ -x "$directory/initdb" ] && [ -x "$directory/postgres" ] && return 0
    done
    return 1
}

need_postgresql() {
    have_postgresql && return 0
    # Debian's package would make and start a cluster of its own; this instance makes its own
    # instead. The file goes away again, so that later packages behave as their administrator expects.
    local keep=/etc/postgresql-common/createcluster.d/lotwarden.conf
    if command -v apt-get >/dev/null && { [ "$(id -u)" -eq 0 ] || command -v sudo >/dev/null; }; then
        as_root mkdir -p "$(dirname "$keep")"
        printf 'create_main_cluster = false\n' | as_root tee "$keep" >/dev/null
    fi
    install_packages "PostgreSQL's server programs are" postgresql
    as_root rm -f "$keep"
    have_postgresql || fail "PostgreSQL was installed but its server programs are not in /usr/lib/postgresql"
}

need_compiler() {
    # Some libraries carry C sources, and the linker is called through cc.
    if ! command -v cc >/dev/null || [ ! -e /usr/include/stdlib.h ]; then
        install_packages "a C compiler is" gcc libc6-dev
    fi
}

need_rust() {
    if ! command -v cargo >/dev/null && [ -x "${HOME:-/nonexistent}/.cargo/bin/cargo" ]; then
        PATH="$HOME/.cargo/bin:$PATH"
    fi
    if ! command -v cargo >/dev/null; then
        fail "a Rust toolchain is missing; install rustup, which then fetches the pinned toolchain by itself:" \
            "Debian 13:  apt-get install -y rustup" \
            "Debian 12:  the installer on www.rust-lang.org/tools/install"
    fi
    local needed have
    needed=$(sed -n 's/^rust-version *= *"\(.*\)"/\1/p' "$root/Cargo.toml")
    # The first call lets rustup fetch the pinned toolchain, with its own progress.
    (cd "$root" && cargo --version >/dev/null) ||
        fail "the pinned Rust toolchain cannot be used; to see why, run" "cd $root && cargo --version"
    have=$(cd "$root" && rustc --version | cut -d' ' -f2)
    if [ "$(printf '%s\n%s\n' "$needed" "$have" | sort -V | head -n 1)" != "$needed" ]; then
        fail "Rust $needed is needed and $have is installed; with rustup, run" "rustup toolchain install $needed"
    fi
}

need_python() {
    # Debian keeps the part that makes virtual environments in a package of its own.
    python3 -c 'import ensurepip, venv' 2>/dev/null || install_packages "Python 3 with venv is" python3 python3-venv
}

need_node() {
    command -v node >/dev/null && command -v npm >/dev/null || install_packages "Node.js with npm is" nodejs npm
}

need_chromium() {
    command -v chromium >/dev/null || install_packages "Chromium is" chromium
}
