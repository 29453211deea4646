# What tests/run and tests/bench share: missing packages, and a throwaway PostgreSQL cluster.
# shellcheck shell=bash

say() { printf '\n== %s\n' "$*"; }

fail() {
    printf '%s: %s\n' "$0" "$*" >&2
    exit 1
}

postgres_programs() {
    local initdb
    for initdb in $(printf '%s\n' /usr/lib/postgresql/*/bin/initdb | sort --version-sort --reverse) \
        "$(command -v initdb || true)"; do
        if [[ -x $initdb ]]; then
            dirname "$(readlink --canonicalize "$initdb")"
            return
        fi
    done
    return 1
}

install_debian_packages() {
    local as_root=()
    (($#)) || return 0
    command -v apt-get >/dev/null || fail "install these first: $* (names in Debian)"
    if ((EUID != 0)); then
        command -v sudo >/dev/null || fail "as root, run: apt-get install $*"
        as_root=(sudo)
    fi
    say "installing $*"
    "${as_root[@]}" apt-get update --quiet
    "${as_root[@]}" env DEBIAN_FRONTEND=noninteractive \
        apt-get install --quiet --yes --no-install-recommends "$@"
}

# start_postgres SETTING…: a throwaway cluster, gone when the script ends. PostgreSQL refuses to
# run as root, so root hands it to the packages' own user. It listens on a socket in its own
# folder, $cluster, and on no port.
start_postgres() {
    local setting options="-c listen_addresses=''"
    for setting in "$@"; do
        options+=" -c $setting"
    done
    programs=$(postgres_programs) || fail "PostgreSQL's initdb is not to be found"
    cluster=$(mktemp --directory --tmpdir register-postgres.XXXXXX)
    owner=()
    if ((EUID == 0)); then
        owner=(runuser -u postgres --)
        chown postgres: "$cluster"
    fi
    trap stop_postgres EXIT
    trap 'exit 130' INT
    trap 'exit 143' TERM
    (
        cd "$cluster"
        "${owner[@]}" "$programs/initdb" --pgdata="$cluster/data" --username=register \
            --auth=trust --encoding=UTF8 --locale=C --no-sync &&
            "${owner[@]}" "$programs/pg_ctl" --pgdata="$cluster/data" --wait start \
                --options="$options -c unix_socket_directories='$cluster'"
    ) >"$cluster/start.log" 2>&1 || fail "PostgreSQL did not start: $(cat "$cluster/start.log")"
}

stop_postgres() {
    (
        cd "$cluster"
        "${owner[@]}" "$programs/pg_ctl" --pgdata="$cluster/data" --mode=immediate stop
    ) >/dev/null 2>&1 || true
    rm --recursive --force "$cluster"
}
