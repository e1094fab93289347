# The story of a planner with Loamhaul installed, nothing of it writable, no network.
#     unshare -mn sh installed_story.sh VENV SITE
# VENV is a virtual environment, SITE its site-packages. The working folder is the
# planner's. Stops at the first command that fails, and says which.
set -eu
mount --bind "$1" "$1"
mount -o remount,ro,bind "$1"
if touch "$2/written" 2>/dev/null; then echo "site-packages can be written" >&2; exit 9; fi
district="my ‘first’ \"kin\" ñ 堆 مركز"
loamhaul() { "$venv/bin/loamhaul" "$@" || { echo "failed: $*" >&2; exit 1; }; }
venv=$1
loamhaul new "$district"
loamhaul check "$district"
loamhaul plan "$district"
loamhaul rounds "$district" --period m01 --iterations 20 --workers 2
loamhaul compare "$district" --change scale_wages:percent=10 --map
