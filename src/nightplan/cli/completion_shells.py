# SPDX-License-Identifier: GPL-3.0-or-later
"""Completion written for bash, zsh and fish.

A file is offered in the place of a verb too (``nightplan piece.nightplan`` opens it), and only projects where a
project is wanted; both were reasons for a writer of our own.
"""

from __future__ import annotations

from collections.abc import Iterable

from nightplan.cli.completion import Offer, Verb, verbs, without_verb

_HEAD = '# Completion of nightplan for {shell}, written by "nightplan completion {shell}".\n'  # untranslated: a script


def script(shell: str) -> str:
    """The completion for ``bash``, ``zsh`` or ``fish``."""
    return _WRITERS[shell](without_verb(), verbs())


def _names(offers: Iterable[Offer]) -> list[str]:
    return [name for offer in offers for name in offer.names]


def _quoted(text: str) -> str:
    """One word for bash and zsh."""
    return "'" + text.replace("'", "'\\''") + "'"


# --- bash (3.2, which macOS has, or newer; needs no library of completions) ---

_BASH = r"""
_nightplan_words() {
    local each
    while IFS= read -r each; do
        if [ -n "$each" ] && [[ "$each" == "$word"* ]]; then COMPREPLY+=("$(printf '%q' "$each")"); fi
    done <<<"$1"
}

_nightplan_paths() {
    local each
    compopt -o filenames 2>/dev/null
    case "$1" in
        folder) while IFS= read -r each; do COMPREPLY+=("$each"); done < <(compgen -d -- "$word") ;;
        file) while IFS= read -r each; do COMPREPLY+=("$each"); done < <(compgen -f -- "$word") ;;
        project)
            while IFS= read -r each; do
                if [ -d "$each" ] || [[ "$each" == *.nightplan ]]; then COMPREPLY+=("$each"); fi
            done < <(compgen -f -- "$word")
            ;;
    esac
}

_nightplan() {
    local word="${COMP_WORDS[COMP_CWORD]}" before="" each="" skip="" place=-1 first=1 i
    local verb="" places="" options="" valued=" "
    COMPREPLY=()
    # a language stands before the verb
    if [ "${COMP_WORDS[1]}" = "--language" ] && [ "$COMP_CWORD" -gt 1 ]; then
        first=3
        if [ "${COMP_WORDS[2]}" = "=" ]; then first=4; fi
        if [ "$COMP_CWORD" -lt "$first" ]; then
            if [ "$word" = "=" ]; then word=""; fi
            _nightplan_words {languages}
            return
        fi
    fi
    if [ "$COMP_CWORD" -eq "$first" ]; then
        if [[ "$word" == -* ]]; then
            _nightplan_words {top_options}
        else
            _nightplan_words {verbs}
            _nightplan_paths project
        fi
        return
    fi
    verb="${COMP_WORDS[first]}"
    case "$verb" in
{cases}
        *) return ;;
    esac
    # which option waits for its value, and how many places are taken before the word
    for ((i = first + 1; i < COMP_CWORD; i++)); do
        each="${COMP_WORDS[i]}"
        if [ "$each" = "=" ]; then
            skip=1
            continue
        fi
        if [ -n "$skip" ]; then
            skip=""
            before=""
        elif [[ "$each" == -* ]]; then
            before="$each"
            if [[ "$valued" == *" $each "* ]]; then skip=1; fi
        else
            place=$((place + 1))
        fi
    done
    if [ "$word" = "=" ]; then word=""; fi
    if [ -n "$skip" ]; then
        case "$verb $before" in
{values}
        esac
        return
    fi
    if [[ "$word" == -* ]]; then
        _nightplan_words "$options"
        return
    fi
    place=$((place + 1))
    i=0
    for each in $places; do
        if [ "$i" -eq "$place" ] || [[ "$each" == *+ && "$i" -le "$place" ]]; then
            {places}
            return
        fi
        i=$((i + 1))
    done
}

complete -F _nightplan nightplan
"""  # untranslated: a script


def _bash(top: Verb, all_verbs: tuple[Verb, ...]) -> str:
    cases, values = [], []
    for verb in all_verbs:
        valued = _names(o for o in verb.options if o.kind != "none")
        places = " ".join((o.kind + ("+" if o.repeats else "")) for o in verb.places)
        cases.append(
            f"        {verb.name})\n"
            f"            options={_lines(_names(verb.options))}\n"
            f'            valued=" {" ".join(valued)} "\n'
            f'            places="{places}"\n'
            "            ;;"
        )
        for option in verb.options:
            if option.kind in ("words", "project", "file", "folder"):
                offer = (
                    f"_nightplan_words {_lines(option.words)}"
                    if option.kind == "words"
                    else f"_nightplan_paths {option.kind}"
                )
                pattern = "|".join(f'"{verb.name} {name}"' for name in option.names)
                values.append(f"            {pattern}) {offer} ;;")
    # one set of words at most stands in a place of its own: the shells of "completion"
    worded = [(verb.name, o) for verb in all_verbs for o in verb.places if o.kind == "words"]
    asked = [f"{name}) _nightplan_words {_lines(o.words)} ;;" for name, o in worded]
    places = (
        'case "${each%+}" in words) case "$verb" in '  # untranslated: a script
        + " ".join(asked)
        + ' esac ;; *) _nightplan_paths "${each%+}" ;; esac'
    )
    text = _BASH
    for key, value in {
        "{top_options}": _lines(_names(top.options)),
        "{languages}": _lines(_languages(top)),
        "{verbs}": _lines(v.name for v in all_verbs),
        "{cases}": "\n".join(cases),
        "{values}": "\n".join(values),
        "{places}": places,
    }.items():
        text = text.replace(key, value)
    return "# shellcheck shell=bash\n" + _HEAD.format(shell="bash") + text  # untranslated: a script


def _languages(top: Verb) -> tuple[str, ...]:
    (offer,) = (o for o in top.options if "--language" in o.names)
    return offer.words


def _lines(words: Iterable[str]) -> str:
    """Words for ``_nightplan_words``, one a line."""
    return "$'" + "\\n".join(word.replace("\\", "\\\\").replace("'", "\\'") for word in words) + "'"


# --- zsh ---


def _zsh(top: Verb, all_verbs: tuple[Verb, ...]) -> str:
    described = "\n".join(f"            {_quoted(_zsh_item(v.name, v.help))}" for v in all_verbs)
    options = "\n".join(f"            {_quoted(_zsh_item(name, o.help))}" for o in top.options for name in o.names)
    cases = []
    for verb in all_verbs:
        specs = [s for o in verb.options for s in _zsh_options(o)]
        specs += [_zsh_place(n, o) for n, o in enumerate(verb.places, 1)]
        body = " \\\n                ".join(_quoted(s) for s in specs)
        cases.append(f"        {verb.name})\n            _arguments -S \\\n                {body}\n            ;;")
    return (
        "#compdef nightplan\n"
        + _HEAD.format(shell="zsh")
        + f"""
_nightplan() {{
    local -a verbs options languages
    # a language stands before the verb
    if [[ $words[2] == --language && CURRENT -gt 2 ]]; then
        if (( CURRENT == 3 )); then
            languages=({" ".join(_languages(top))})
            _describe language languages
            return
        fi
        words=($words[1] "${{(@)words[4,-1]}}")
        (( CURRENT -= 2 ))
    elif [[ $words[2] == --language=* && CURRENT -gt 2 ]]; then
        words=($words[1] "${{(@)words[3,-1]}}")
        (( CURRENT -= 1 ))
    fi
    if (( CURRENT == 2 )); then
        verbs=(
{described}
        )
        options=(
{options}
        )
        if [[ $PREFIX == -* ]]; then
            _describe -o option options
        else
            _describe verb verbs
            _files -g '*.nightplan'
        fi
        return
    fi
    local verb=$words[2]
    shift words
    (( CURRENT-- ))
    case $verb in
{chr(10).join(cases)}
    esac
}}

if [[ $funcstack[1] == _nightplan ]]; then
    _nightplan "$@"
else
    compdef _nightplan nightplan
fi
"""
    )  # untranslated: a script


def _zsh_item(name: str, text: str) -> str:
    return f"{name.replace(':', chr(92) + ':')}:{text}"


def _zsh_text(text: str) -> str:
    for letter in "\\[]:":
        text = text.replace(letter, "\\" + letter)
    return text


def _zsh_action(offer: Offer) -> str:
    if offer.kind == "words":
        return "(" + " ".join(word.replace(" ", "\\ ") for word in offer.words) + ")"
    return {"project": "_files -g '*.nightplan'", "file": "_files", "folder": "_files -/"}.get(offer.kind, " ")


def _zsh_options(offer: Offer) -> list[str]:
    again = "*" if offer.repeats else f"({' '.join(offer.names)})"
    value = "" if offer.kind == "none" else f":{_zsh_text(offer.value)}:{_zsh_action(offer)}"
    return [f"{again}{name}[{_zsh_text(offer.help)}]{value}" for name in offer.names]


def _zsh_place(number: int, offer: Offer) -> str:
    return f"{'*' if offer.repeats else number}:{_zsh_text(offer.help or offer.value)}:{_zsh_action(offer)}"


# --- fish ---

_FISH = r"""
function __nightplan_said
    # the words before the one that is typed; a language may stand before the verb
    set -l said (commandline -opc)
    if test (count $said) -gt 1; and test $said[2] = --language
        set -e said[2]
        test (count $said) -gt 1; and set -e said[2]
    else if test (count $said) -gt 1; and string match -q -- '--language=*' $said[2]
        set -e said[2]
    end
    printf '%s\n' $said
end

function __nightplan_no_verb
    test (count (__nightplan_said)) -eq 1
end

function __nightplan_verb
    set -l said (__nightplan_said)
    test (count $said) -gt 1; and test $said[2] = $argv[1]
end

function __nightplan_paths
    # with an ending: folders, and files of that ending
    for path in (__fish_complete_path (commandline -ct))
        set -l name (string split -f 1 \t -- $path)
        if string match -q -- '*/' $name; or string match -q -- "*$argv[1]" $name
            echo $name
        end
    end
end

complete -c nightplan -f
"""  # untranslated: a script


def _fish(top: Verb, all_verbs: tuple[Verb, ...]) -> str:
    lines = []
    for offer in top.options:
        lines.append(f"complete -c nightplan -n __nightplan_no_verb {_fish_option(offer)}")
    for verb in all_verbs:
        lines.append(
            f"complete -c nightplan -n __nightplan_no_verb -a {_fish_quoted(verb.name)} -d {_fish_quoted(verb.help)}"
        )
    lines.append("complete -c nightplan -n __nightplan_no_verb -k -a '(__nightplan_paths .nightplan)'")
    for verb in all_verbs:
        lines.append("")
        when = f"complete -c nightplan -n '__nightplan_verb {verb.name}'"
        lines += [f"{when} {_fish_option(offer)}" for offer in verb.options]
        lines += sorted({f"{when} -a {offered}" for o in verb.places if (offered := _fish_values(o))})
    return _HEAD.format(shell="fish") + _FISH + "\n".join(lines) + "\n"


def _fish_option(offer: Offer) -> str:
    parts = [f"-l {name[2:]}" if name.startswith("--") else f"-s {name[1:]}" for name in offer.names]
    if offer.kind != "none":
        parts.append("-x")
        if offered := _fish_values(offer):
            parts.append(f"-a {offered}")
    return " ".join([*parts, "-d", _fish_quoted(offer.help or offer.value)])


def _fish_values(offer: Offer) -> str:
    if offer.kind == "words":
        return _fish_quoted(" ".join(word.replace(" ", "\\ ") for word in offer.words))
    return {
        "project": "'(__nightplan_paths .nightplan)'",
        "file": "'(__fish_complete_path)'",
        "folder": "'(__fish_complete_directories)'",
    }.get(offer.kind, "")


def _fish_quoted(text: str) -> str:
    return "'" + text.replace("\\", "\\\\").replace("'", "\\'") + "'"


_WRITERS = {"bash": _bash, "zsh": _zsh, "fish": _fish}
