#!/bin/sh
# The man page, from what the program says of itself: man.sh PROGRAM OUT
set -eu
program=$1
exec >"$2"

# Words after "Subcommands:" of a --help.
commands() { awk '/^Subcommands:/ { on = 1; next } /^([^ ]|$)/ { on = 0 } on && /^  [a-z]/ { print $1 }'; }
# Lines as they are: roff takes none of them for a request, and a hyphen stays one.
plain() { sed -e 's/\\/\\e/g; s/-/\\-/g' -e "s/^[.']/\\\\\&&/"; }

printf '.TH LASTROOM 1 "" "%s" "User Commands"\n' "$("$program" --version)"
printf '.SH NAME\nlastroom \\- does this foot fit this last?\n.SH DESCRIPTION\n.nf\n'
"$program" --help | plain
for command in $("$program" --help | commands); do
  printf '.fi\n.SH "LASTROOM %s"\n.nf\n' "$(echo "$command" | tr a-z A-Z)"
  "$program" "$command" --help | plain
  for further in $("$program" "$command" --help | commands); do
    printf '.fi\n.SS "lastroom %s %s"\n.nf\n' "$command" "$further"
    "$program" "$command" "$further" --help | plain
  done
done
printf '.fi\n.SH FILES\n%s\n' 'share/lastroom/rules.xml, beside the bin folder: the limits built in, to be copied and edited for \-\-rules.'
