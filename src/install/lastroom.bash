# Completion for bash: asks the program what it knows.
_lastroom() {
  local word=${COMP_WORDS[COMP_CWORD]} asked=() words i
  for ((i = 1; i < COMP_CWORD && i < 3; ++i)); do
    [[ ${COMP_WORDS[i]} =~ ^[a-z]+$ ]] && asked+=("${COMP_WORDS[i]}") || break
  done
  words=$("${COMP_WORDS[0]}" "${asked[@]}" --help 2>/dev/null | awk -v options="${word:0:1}" '
    /^Subcommands:/ { on = 1; next } /^([^ ]|$)/ { on = 0 }
    options != "-" && on && /^  [a-z]/ { print $1 }
    options == "-" && match($0, /^  (-[a-zA-Z],)?--[a-z-]+/) { sub(/.*--/, "--", $1); print $1 }')
  mapfile -t COMPREPLY < <(compgen -W "$words" -- "$word")
  [[ $word == -* ]] || compopt -o default
}
complete -F _lastroom lastroom
