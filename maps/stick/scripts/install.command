#!/bin/sh
# macOS: opens install.sh, which lies beside this file, in a terminal window.
sh "$(dirname "$0")/install.sh"
printf '%s' "Press Enter to close this window."
read -r _
