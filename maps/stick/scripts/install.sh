#!/bin/sh
# Installs Loamhaul from this folder, without internet, for the person who runs it:
#   sh install.sh
# What it does and how to take it away again: README.txt beside this file.
set -eu

stick=$(CDPATH='' cd -- "$(dirname -- "$0")" && pwd)

stop() {
  printf '\n%s\n' "$1" >&2
  exit 1
}

case "$(uname -s)" in
  Linux) system=linux data=${XDG_DATA_HOME:-$HOME/.local/share} ;;
  Darwin) system=macos data="$HOME/Library/Application Support" ;;
  *) stop "This script is for Linux and macOS. On Windows open install.cmd." ;;
esac
case "$(uname -m)" in
  x86_64 | amd64) processor=x86_64 ;;
  aarch64 | arm64) processor=aarch64 ;;
  *) processor=$(uname -m) ;;
esac
[ "$system-$processor" = macos-aarch64 ] && processor=arm64
target=$system-$processor
place=$data/loamhaul/program
desk=$HOME/Desktop
if [ "$system" = linux ] && named=$(xdg-user-dir DESKTOP 2>/dev/null) && [ -d "$named" ]; then
  desk=$named
fi

checksum() {
  if command -v sha256sum >/dev/null 2>&1; then sha256sum; else shasum -a 256; fi | cut -d ' ' -f 1
}

# Compare every file that a label of contents.txt names with its length and checksum.
check() {
  seen=
  while read -r sum size label name; do
    [ "$label" = "$1" ] || continue
    seen=yes
    again="Copy the folder onto the stick anew. Nothing was installed."
    [ -f "$stick/$name" ] || stop "$name is missing on the stick. $again"
    [ "$(wc -c <"$stick/$name" | tr -d ' ')" = "$size" ] ||
      stop "$name is not as long as it was written. $again"
    [ "$(checksum <"$stick/$name")" = "$sum" ] ||
      stop "$name is damaged: its checksum is not the one in contents.txt. $again"
  done <"$stick/contents.txt"
  [ -n "$seen" ]
}

# uv sees nothing of this computer's settings, and may not use the internet.
uv() {
  env -i HOME="$HOME" PATH="$PATH" UV_OFFLINE=1 UV_NO_CONFIG=1 UV_LINK_MODE=copy \
    UV_PYTHON_DOWNLOADS=never UV_CACHE_DIR="$place/cache" "$place/uv" "$@"
}

# The newest Python on this computer that the stick has wheels for.
find_python() {
  for pinned in $(cd "$stick/pins" && ls -r | grep "^$target-"); do
    version=${pinned#"$target"-}
    version=${version%.txt}
    python=$(uv python find --system --no-project "$version" 2>/dev/null) && return
  done
  return 1
}

# Whatever fails, an older installation is there again and no half of a new one.
undo() {
  [ -n "${done:-}" ] && return
  if [ -n "${begun:-}" ]; then
    rm -rf "$place"
    [ ! -d "$place.old" ] || mv "$place.old" "$place"
    printf '\n%s\n' "Nothing was installed." >&2
  fi
}

echo "Looking at the stick …"
check "$target" || stop "This stick has nothing for this computer ($target)."
if [ -e "$place" ]; then
  [ -f "$place/installed.txt" ] || stop "$place is there already and is not Loamhaul's."
  rm -rf "$place.old"
  mv "$place" "$place.old"
fi
trap undo EXIT
trap 'exit 1' HUP INT TERM
begun=yes
mkdir -p "$place"
cat "$stick/programs/$target/uv" >"$place/uv" # its bytes alone, no marks of the stick
chmod +x "$place/uv"

if ! find_python && [ "$system" = macos ]; then
  for package in "$stick"/python/*.pkg; do
    if grep -q " $target python/${package##*/}\$" "$stick/contents.txt"; then
      echo "Python is not here yet. Its installer opens; come back when it is done."
      open -W "$package"
    fi
  done
fi
if [ -z "${python:-}" ] && ! find_python; then
  wanted=$(cd "$stick/pins" && ls | sed -n "s/^$target-\(.*\)\.txt\$/Python \1/p")
  remedy="Install one of them with the software manager of this computer"
  [ "$system" = linux ] ||
    remedy="Fetch its installer for macOS from the web site of Python where there is internet, bring it on the stick, in the folder python, and open it"
  stop "This computer has no Python that the stick is made for:
$wanted
$remedy, then run this again."
fi

echo "Checking the wheels for Python $version …"
check "$target-$version" || stop "contents.txt does not list the wheels. Nothing was installed."
echo "Installing into $place …"
uv venv -q --no-project --python "$python" "$place/environment"
uv pip install -q --python "$place/environment" --no-index --find-links "$stick/wheels" \
  --only-binary :all: --require-hashes --compile-bytecode -r "$stick/pins/$target-$version.txt"
rm -rf "$place/cache"
"$place/environment/bin/loamhaul" --version
cp "$stick/README.txt" "$stick/manual.html" "$place/"
cat >"$place/desk.sh" <<'EOF'
#!/bin/sh
here=$(CDPATH='' cd -- "$(dirname -- "$0")" && pwd)
"$here/environment/bin/loamhaul" desk "$@" && exit
printf '%s' "The desk did not open. Press Enter to close this window."
read -r _
EOF
chmod +x "$place/desk.sh"

mkdir -p "$desk"
if [ "$system" = macos ]; then
  starters="$desk/Loamhaul desk.command"
  printf '#!/bin/sh\nexec "$HOME/Library/Application Support/loamhaul/program/desk.sh"\n' >"$starters"
  chmod +x "$starters"
else
  starters="$desk/loamhaul.desktop
  $data/applications/loamhaul.desktop"
  quoted=$(printf '%s' "$place/desk.sh" | sed 's/\\/\\\\\\\\/g; s/["`$]/\\\\&/g; s/%/%%/g')
  mkdir -p "$data/applications"
  cat >"$data/applications/loamhaul.desktop" <<EOF
[Desktop Entry]
Type=Application
Name=Loamhaul desk
Comment=Plan the composting yards and the haulage of a district
Exec=/bin/sh "$quoted"
Terminal=true
Categories=Office;
EOF
  cp "$data/applications/loamhaul.desktop" "$desk/loamhaul.desktop"
  chmod +x "$desk/loamhaul.desktop"
  gio set "$desk/loamhaul.desktop" metadata::trusted true 2>/dev/null || true
fi
printf '%s\n' "Loamhaul" "$place" "$starters" >"$place/installed.txt"
done=yes
rm -rf "$place.old"
cat <<EOF

Loamhaul is installed, for you alone. Open it with the starter on your desktop.
To take it away again, delete
  $place
  $starters
Your districts, in the folder Loamhaul of your documents, stay.
EOF
