# Completion of nightplan for fish, written by "nightplan completion fish".

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
complete -c nightplan -n __nightplan_no_verb -s h -l help -d 'print the help'
complete -c nightplan -n __nightplan_no_verb -l language -x -a 'en de es ja' -d 'the language to speak; comes before anything else'
complete -c nightplan -n __nightplan_no_verb -l throw-away-profile -d 'open the program with fresh settings, and forget them, unsaved changes and earlier versions at the end'
complete -c nightplan -n __nightplan_no_verb -l version -d 'print the version'
complete -c nightplan -n __nightplan_no_verb -a 'sample' -d 'Copy the sample projects and open the first; without a screen, print its plan and write a report.'
complete -c nightplan -n __nightplan_no_verb -a 'new' -d 'Make a project from a template; its stages are sized to your evenings.'
complete -c nightplan -n __nightplan_no_verb -a 'plan' -d 'Show which evening does what.'
complete -c nightplan -n __nightplan_no_verb -a 'odds' -d 'Say how likely each gate is, when each piece of work will be done, and what it hangs on.'
complete -c nightplan -n __nightplan_no_verb -a 'tick' -d 'Record what happened on an evening and say the new odds.'
complete -c nightplan -n __nightplan_no_verb -a 'recover' -d 'Show what would raise the odds, what each way costs, and the cheapest ways together that are enough.'
complete -c nightplan -n __nightplan_no_verb -a 'check' -d 'Hold output files against the rules of the brief: 0 nothing speaks against them, 1 a rule is broken or open.'
complete -c nightplan -n __nightplan_no_verb -a 'nights' -d 'Say how many nights each machine job takes, when it is ready, and how likely by its gate.'
complete -c nightplan -n __nightplan_no_verb -a 'export' -d 'Write the plan to a file; its ending says as what: .ics .csv .png .svg .pdf .html .md .txt.'
complete -c nightplan -n __nightplan_no_verb -a 'lookback' -d 'Hold what past projects took against what was planned, and say how honest the odds were.'
complete -c nightplan -n __nightplan_no_verb -a 'completion' -d 'Print the completion for a shell.'
complete -c nightplan -n __nightplan_no_verb -a 'desktop-entry' -d 'Print the menu entry, or lay it with icons, file type, manual page and completion where the desktop looks.'
complete -c nightplan -n __nightplan_no_verb -k -a '(__nightplan_paths .nightplan)'

complete -c nightplan -n '__nightplan_verb sample' -s h -l help -d 'print the help'
complete -c nightplan -n '__nightplan_verb sample' -l no-window -d 'print the plan also where a screen is there'
complete -c nightplan -n '__nightplan_verb sample' -l json -d 'print JSON for programs'
complete -c nightplan -n '__nightplan_verb sample' -a '(__fish_complete_directories)'

complete -c nightplan -n '__nightplan_verb new' -s h -l help -d 'print the help'
complete -c nightplan -n '__nightplan_verb new' -l title -x -d 'what the piece is called'
complete -c nightplan -n '__nightplan_verb new' -l piece -x -a 'animated\\ shot still\\ environment still\\ character motion\\ loop game\\ asset' -d 'one of: animated shot, still environment, still character, motion loop, game asset'
complete -c nightplan -n '__nightplan_verb new' -l zone -x -d 'your own time zone, for example Europe/Lisbon'
complete -c nightplan -n '__nightplan_verb new' -l announced -x -d 'the announcement day; today unless given'
complete -c nightplan -n '__nightplan_verb new' -l lock -x -d 'your personal lock'
complete -c nightplan -n '__nightplan_verb new' -l deadline -x -d 'as the rules say it ("Oct 31, 11:59 pm PT"), or ISO'
complete -c nightplan -n '__nightplan_verb new' -l deadline-zone -x -d 'zone of the deadline, where its words name none'
complete -c nightplan -n '__nightplan_verb new' -l week -x -d 'an evening of your week: "tue 20:30 2.5 sure"; repeat it'
complete -c nightplan -n '__nightplan_verb new' -l off -x -d 'days without evenings'
complete -c nightplan -n '__nightplan_verb new' -l bedtime -x -d 'no evening is ever proposed past it'
complete -c nightplan -n '__nightplan_verb new' -l force -d 'write over a file that is there'
complete -c nightplan -n '__nightplan_verb new' -l json -d 'print JSON for programs'
complete -c nightplan -n '__nightplan_verb new' -a '(__nightplan_paths .nightplan)'

complete -c nightplan -n '__nightplan_verb plan' -s h -l help -d 'print the help'
complete -c nightplan -n '__nightplan_verb plan' -l as-of -x -d 'the day to look from; today unless given, not before the announcement or the last ticked evening'
complete -c nightplan -n '__nightplan_verb plan' -l json -d 'print JSON for programs'
complete -c nightplan -n '__nightplan_verb plan' -a '(__nightplan_paths .nightplan)'

complete -c nightplan -n '__nightplan_verb odds' -s h -l help -d 'print the help'
complete -c nightplan -n '__nightplan_verb odds' -l as-of -x -d 'the day to look from; today unless given, not before the announcement or the last ticked evening'
complete -c nightplan -n '__nightplan_verb odds' -l futures -x -d 'how many futures to draw'
complete -c nightplan -n '__nightplan_verb odds' -l seed -x -d 'the same seed, the same numbers'
complete -c nightplan -n '__nightplan_verb odds' -l json -d 'print JSON for programs'
complete -c nightplan -n '__nightplan_verb odds' -a '(__nightplan_paths .nightplan)'

complete -c nightplan -n '__nightplan_verb tick' -s h -l help -d 'print the help'
complete -c nightplan -n '__nightplan_verb tick' -l hours -x -d 'hours worked: 2.5, 2:30 or 2h30'
complete -c nightplan -n '__nightplan_verb tick' -l item -x -d 'hours on one item; ID is its id or its name'
complete -c nightplan -n '__nightplan_verb tick' -l done -x -d 'an item or machine job that is done'
complete -c nightplan -n '__nightplan_verb tick' -l left -x -d 'a fresh estimate of the hours left; without HIGH as unsure as the item\'s first estimate was'
complete -c nightplan -n '__nightplan_verb tick' -l missed -d 'the evening did not happen'
complete -c nightplan -n '__nightplan_verb tick' -l note -x -d 'a line for the journal'
complete -c nightplan -n '__nightplan_verb tick' -l extra -d 'log a date that has no evening'
complete -c nightplan -n '__nightplan_verb tick' -l replace -d 'put this in the place of an earlier tick'
complete -c nightplan -n '__nightplan_verb tick' -l json -d 'print JSON for programs'
complete -c nightplan -n '__nightplan_verb tick' -a '(__nightplan_paths .nightplan)'

complete -c nightplan -n '__nightplan_verb recover' -s h -l help -d 'print the help'
complete -c nightplan -n '__nightplan_verb recover' -l target -x -d 'the odds to reach; the project\'s own unless given'
complete -c nightplan -n '__nightplan_verb recover' -l as-of -x -d 'the day to look from; today unless given, not before the announcement or the last ticked evening'
complete -c nightplan -n '__nightplan_verb recover' -l gate -x -d 'a gate that must reach them; all unless given; may be repeated'
complete -c nightplan -n '__nightplan_verb recover' -l primary -d 'offer to leave out primary items as well'
complete -c nightplan -n '__nightplan_verb recover' -l apply -d 'take the cheapest ways together, as a re-plan'
complete -c nightplan -n '__nightplan_verb recover' -l futures -x -d 'how many futures to draw'
complete -c nightplan -n '__nightplan_verb recover' -l seed -x -d 'the same seed, the same numbers'
complete -c nightplan -n '__nightplan_verb recover' -l json -d 'print JSON for programs'
complete -c nightplan -n '__nightplan_verb recover' -a '(__nightplan_paths .nightplan)'

complete -c nightplan -n '__nightplan_verb check' -s h -l help -d 'print the help'
complete -c nightplan -n '__nightplan_verb check' -l deliverable -x -d 'which of the brief\'s deliverables it is'
complete -c nightplan -n '__nightplan_verb check' -l deep -d 'also look at every pixel: black, repeated, unfinished frames'
complete -c nightplan -n '__nightplan_verb check' -l headers -d 'only names and headers, at once'
complete -c nightplan -n '__nightplan_verb check' -l json -d 'print JSON for programs'
complete -c nightplan -n '__nightplan_verb check' -a '(__fish_complete_path)'
complete -c nightplan -n '__nightplan_verb check' -a '(__nightplan_paths .nightplan)'

complete -c nightplan -n '__nightplan_verb nights' -s h -l help -d 'print the help'
complete -c nightplan -n '__nightplan_verb nights' -l as-of -x -d 'the day to look from; today unless given, not before the announcement or the last ticked evening'
complete -c nightplan -n '__nightplan_verb nights' -l look -d 'look into the folders of frames first; the file stays as it is'
complete -c nightplan -n '__nightplan_verb nights' -l futures -x -d 'how many futures to draw'
complete -c nightplan -n '__nightplan_verb nights' -l seed -x -d 'the same seed, the same numbers'
complete -c nightplan -n '__nightplan_verb nights' -l json -d 'print JSON for programs'
complete -c nightplan -n '__nightplan_verb nights' -a '(__nightplan_paths .nightplan)'

complete -c nightplan -n '__nightplan_verb export' -s h -l help -d 'print the help'
complete -c nightplan -n '__nightplan_verb export' -l to -x -a '(__fish_complete_path)' -d 'the file to write'
complete -c nightplan -n '__nightplan_verb export' -l what -x -a 'assets buffer burn-down calendar contact-sheet credits futures hours-left log making-of odds one-page plan report strip summary wall-sheet' -d 'which part, the first unless given (.csv: plan, log, futures, burn-down, assets; .png: strip, hours-left, odds, buffer, credits, contact-sheet; .svg: strip, hours-left, odds, buffer; .pdf: report, one-page, wall-sheet, strip, hours-left, odds, buffer; .html: report, making-of; .md: summary, credits, making-of)'
complete -c nightplan -n '__nightplan_verb export' -l as-of -x -d 'the day to look from; today unless given, not before the announcement or the last ticked evening'
complete -c nightplan -n '__nightplan_verb export' -l paper -x -a 'a4 letter' -d 'a4 or letter, for .pdf'
complete -c nightplan -n '__nightplan_verb export' -l look -x -a 'light night print' -d 'of a picture: light, night, print'
complete -c nightplan -n '__nightplan_verb export' -l minutes -x -d 'length of the making-of film'
complete -c nightplan -n '__nightplan_verb export' -l futures -x -d 'futures to draw'
complete -c nightplan -n '__nightplan_verb export' -l seed -x -d 'the same seed, the same numbers'
complete -c nightplan -n '__nightplan_verb export' -l json -d 'print JSON for programs'
complete -c nightplan -n '__nightplan_verb export' -a '(__nightplan_paths .nightplan)'

complete -c nightplan -n '__nightplan_verb lookback' -s h -l help -d 'print the help'
complete -c nightplan -n '__nightplan_verb lookback' -l as-of -x -d 'which gates are past; today unless given'
complete -c nightplan -n '__nightplan_verb lookback' -l csv -x -a '(__fish_complete_path)' -d 'write the stages as a table'
complete -c nightplan -n '__nightplan_verb lookback' -l pictures -x -a '(__fish_complete_directories)' -d 'write the four pictures as .svg'
complete -c nightplan -n '__nightplan_verb lookback' -l index -x -a '(__fish_complete_path)' -d 'keep the index there, so that the next look back is faster'
complete -c nightplan -n '__nightplan_verb lookback' -l for -x -a '(__nightplan_paths .nightplan)' -d 'say what this would change in a new project'
complete -c nightplan -n '__nightplan_verb lookback' -l accept -x -d 'accept one proposal for it; may be repeated'
complete -c nightplan -n '__nightplan_verb lookback' -l answer -x -d 'file an answer in it: overran, cut_earlier, again'
complete -c nightplan -n '__nightplan_verb lookback' -l prior-ratio -x -d 'items are taken to need so many times their likely hours before anything is known (1)'
complete -c nightplan -n '__nightplan_verb lookback' -l prior-worth -x -d 'and that counts like so many finished items (3)'
complete -c nightplan -n '__nightplan_verb lookback' -l prior-spread -x -d 'standard deviation of ln(actual/likely) before anything is known (0.4)'
complete -c nightplan -n '__nightplan_verb lookback' -l prior-spread-worth -x -d 'and that counts like so many finished items (4)'
complete -c nightplan -n '__nightplan_verb lookback' -l prior-evenings -x -d 'the promised chance of an evening counts like so many evenings (6)'
complete -c nightplan -n '__nightplan_verb lookback' -l prior-correlation -x -d 'how alike the items of one project are (0.3)'
complete -c nightplan -n '__nightplan_verb lookback' -l json -d 'print JSON for programs'
complete -c nightplan -n '__nightplan_verb lookback' -a '(__fish_complete_path)'

complete -c nightplan -n '__nightplan_verb completion' -s h -l help -d 'print the help'
complete -c nightplan -n '__nightplan_verb completion' -l json -d 'print JSON for programs'
complete -c nightplan -n '__nightplan_verb completion' -a 'bash zsh fish'

complete -c nightplan -n '__nightplan_verb desktop-entry' -s h -l help -d 'print the help'
complete -c nightplan -n '__nightplan_verb desktop-entry' -l install -d 'write the files'
complete -c nightplan -n '__nightplan_verb desktop-entry' -l remove -d 'take them away again'
complete -c nightplan -n '__nightplan_verb desktop-entry' -l to -x -a '(__fish_complete_directories)' -d 'the folder; $XDG_DATA_HOME or ~/.local/share unless given'
complete -c nightplan -n '__nightplan_verb desktop-entry' -l json -d 'print JSON for programs'
