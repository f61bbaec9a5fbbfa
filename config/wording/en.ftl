### English. Every sentence that the program sends.
###
### A line that needs a fact which the message does not carry is left out, and
### so is an empty line. $has_FACT is "yes" or "no". $FACT_time is the time of
### day of an instant without its date. What each message carries is listed in
### src/wording/contract.rs.
###
### One idea a line. Nothing here says whether something is all right.

## Words for dates, numbers and lists

weekday-1 = Mon
weekday-2 = Tue
weekday-3 = Wed
weekday-4 = Thu
weekday-5 = Fri
weekday-6 = Sat
weekday-7 = Sun
month-1 = Jan
month-2 = Feb
month-3 = Mar
month-4 = Apr
month-5 = May
month-6 = Jun
month-7 = Jul
month-8 = Aug
month-9 = Sep
month-10 = Oct
month-11 = Nov
month-12 = Dec
# 12 am and 12 pm are read either way round, so they get words.
clock =
    { $part ->
        [midnight] 12:00 midnight (start of day)
        [noon] 12:00 noon
        [am] { $hour12 }:{ $minute } am
       *[pm] { $hour12 }:{ $minute } pm
    }
date-time = { $weekday } { $day } { $month }, { $time }
day-month = { $weekday } { $day } { $month }
duration =
    { $form ->
        [minutes] { $minutes } min
        [hours] { $hours } h
       *[both] { $hours } h { $minutes } min
    }
span = { $from } to { $until }
open-days = { $days }, { $times }
decimal-mark = .
list-more = { $list }, { $next }
list-last = { $list } and { $last }
quoted = “{ $text }”
shortened = { $text }… (shortened)
unnamed-patient = Your animal

## Buttons

label-given = Given
label-not-given = Not given
label-mixed = Mixed
label-discarded = Discarded
label-yes = Yes
label-no = No
label-take-back = Take back
label-neither = None of these
label-next-step = Next step
label-previous-step = Back
label-seen = Seen
label-confirm = Confirm
label-next-page = Next page
label-previous-page = Page before
label-ended-reached-owner = Reached owner
label-ended-no-answer = Did not pick up
label-ended-given-late-on-order = Our order: give late
label-ended-left-out-on-order = Our order: leave out
label-ended-comes-in = Comes to the clinic
label-ended-handed-out = Handed out
label-ended-otherwise = Closed otherwise
label-cancel = Cancel
label-nobody = Nobody else
label-as-needed = What the course needs

## Phrases used by several messages

call = Call your clinic: { $phone }
not-sure = Not sure? Call your clinic: { $phone }
recorded-by =
    { $own ->
        [no] Recorded by { $by }.
       *[yes] Recorded by you.
    }
# Who gave it and who wrote of it may be two people.
undone-by =
    { $own ->
        [no] Undone by { $by }.
       *[yes] Undone by you.
    }
given-by =
    { $has_recorded_by ->
        [yes]
            { $own ->
                [no] Given by { $by }, recorded by { $recorded_by }.
               *[yes] Given by { $by }, recorded by you.
            }
       *[no] { recorded-by }
    }
mixed-by =
    { $has_recorded_by ->
        [yes]
            { $own ->
                [no] Mixed by { $by }, recorded by { $recorded_by }.
               *[yes] Mixed by { $by }, recorded by you.
            }
       *[no] { recorded-by }
    }
doses =
    { $doses_left ->
        [0] less than one dose
        [one] 1 dose
       *[other] { $doses_left } doses
    }
no-mixed-vial = { $patient }: no mixed vial on record.
if-mixed = Did you mix one? Write “mixed”.
vial-before =
    { $has_from_vial ->
        [yes]
            Draw { $from_ml } from vial { $from_vial }.
            Then draw { $then_ml } from vial { $then_vial }.
       *[no]
            { $has_remaining_ml ->
                [yes] Vial { $vial } holds { $remaining_ml } before this dose.
               *[no] Use vial { $vial }.
            }
    }
vials-again =
    { $has_from_vial ->
        [yes] That is { $from_ml } from vial { $from_vial } and { $then_ml } from vial { $then_vial }.
       *[no] { vial-before }
    }
vial-after =
    { $has_doses_left ->
        [yes] Vial { $vial } holds { $remaining_ml } now, { doses }.
       *[no] Vial { $vial } holds { $remaining_ml } now.
    }
unplaced =
    { $has_unplaced_ml ->
        [yes]
            { $unplaced_ml } came from no mixed vial on record.
            { if-mixed }
       *[no] {""}
    }
not-as-planned =
    { $differs ->
        [yes] This is not the planned volume.
       *[no] {""}
    }
past-limit =
    { $past ->
        [yes] That time is past. Discard it now.
       *[no] {""}
    }
the-vial =
    { $has_vial ->
        [yes] vial { $vial }
       *[no] a vial
    }
who =
    { $has_patient ->
        [yes] { $patient } ({ $owner })
       *[no] { $owner }
    }
household = Household { $household }.
call-home = Phone: { $owner_phone }
next-open-dose = Next open dose: { $planned }, { $volume_ml }.

## To an owner: the course

course-joined =
    { $patient }: { $volume_ml } a dose, at { $times }.
    Hello { $name }. This comes from { $clinic }.
    Next dose: { $planned }.
    Last dose: { $ends }.
    One vial: add { $diluent_ml } of diluent, { $available_ml } can be drawn.
    Write “mixed” when you mix a vial. Write “help” for help.
    This program keeps time and books. It does not give advice.
    It follows the veterinarian's order.
    { not-sure }
dose-due =
    { $patient }: dose due, { $planned }.
    { $has_from_vial ->
        [yes] The dose is { $volume_ml }, from more than one vial.
       *[no] Draw { $volume_ml }.
    }
    { vial-before }
dose-again =
    { $patient }: no answer yet for the dose of { $planned }.
    The dose is { $volume_ml }.
    { vials-again }
    Tap { label-given } or { label-not-given }.
dose-window-closed =
    { $doses ->
        [one] { $patient }: nothing on record for the dose of { $planned }.
       *[other] { $patient }: nothing on record for { $doses } doses, the last one { $planned }.
    }
    { $reason ->
        [unasked] This program was down and could not ask.
       *[unanswered] The time to answer is over.
    }
    { $doses ->
        [one]
            Was it given? Then write the time, such as “given at 7:40 am”.
       *[other]
            Was one given?
            Tell your clinic when you call.
    }
    { call }
vial-mix-next =
    { $patient }: mix vial { $vial }.
    { $reason ->
        [first] No vial is mixed yet.
        [empty] The open vial is empty.
        [discarded] The last vial is discarded.
        [limit] The open vial is past its time limit.
        [short]
            The open vial holds less than a dose.
            The rest of it is not used.
       *[split] This dose comes from more than one vial.
    }
    Add { $diluent_ml } of { $diluent } to vial { $vial }.
    Once it is mixed, tap { label-mixed }.
    The dose takes { $from_ml } from vial { $from_vial } and { $then_ml } from vial { $vial }.
vial-limit-near =
    { $hours ->
        [0] { $patient }: vial { $vial } reaches its limit in less than 1 hour.
        [one] { $patient }: vial { $vial } reaches its limit in 1 hour.
       *[other] { $patient }: vial { $vial } reaches its limit in { $hours } hours.
    }
    Discard it by { $discard_by }.
    By our count it holds { $remaining_ml }.
vial-limit-reached =
    { $patient }: vial { $vial } is at its limit, { $discard_by }.
    By our count it holds { $remaining_ml }.
    Discard it. Then tap { label-discarded }.
supply-low =
    { $vials_left ->
        [0] { $patient }: supply low, no unmixed vial left.
        [one] { $patient }: supply low, 1 unmixed vial left.
       *[other] { $patient }: supply low, { $vials_left } unmixed vials left.
    }
    It runs out { $runs_out }.
    { call }
course-ended =
    { $by_clinic ->
        [yes] { $patient }: the clinic has ended the course.
       *[no] { $patient }: the course is over.
    }
    { $given } of { $doses } doses are on record as given.
    { $by_clinic ->
        [yes] No more doses are asked for.
       *[no] {""}
    }
    Unmixed vials left, by our count: { $vials_left }.
    What comes next? Call your clinic: { $phone }
course-changed =
    { $what ->
        [dose] { $patient }: the dose has changed, by the clinic's order.
        [times] { $patient }: the times have changed, by the clinic's order.
        [length] { $patient }: the end of the course has changed, by the clinic's order.
        [zone] { $patient }: the times follow another clock, by the clinic's order.
        [paused] { $patient }: paused, by the clinic's order.
        [resumed] { $patient }: the course goes on, by the clinic's order.
       *[other] { $patient }: the order was changed by the clinic.
    }
    { $what ->
        [paused]
            No dose is due until the clinic says so.
            Nothing is asked for, nothing counts as missed.
       *[other] This holds from now on:
    }
    One dose: { $volume_ml }, in the { $syringe_ml } syringe.
    Times: { $times }.
    The clock of { $zone }.
    Next dose: { $planned }.
    Last dose: { $ends }.
    The dose of { $asked_before } was asked for before and stays as it was.
    Questions? Call your clinic: { $phone }

## To an owner: records

recorded-given =
    { $patient }: { $volume_ml } given, { $given_at }.
    For the dose of { $planned }.
    { given-by }
    { vial-after }
    { $has_remaining_ml ->
        [yes] {""}
       *[no] Drawn from vial { $vial }.
    }
    { unplaced }
    { not-as-planned }
    Next dose: { $next }.
recorded-not-given =
    { $patient }: not given, dose of { $planned }.
    { recorded-by }
    { call }
recorded-mixed =
    { $patient }: vial { $vial } mixed, { $mixed_at }.
    It holds { $remaining_ml }, { doses }.
    Discard it by { $discard_by }.
    { mixed-by }
recorded-discarded =
    { $patient }: vial { $vial } is discarded now.
    It still held { $remaining_ml } by our count.
    { recorded-by }
recorded-level =
    { $patient }: { $level_ml } seen in vial { $vial }.
    By our count it is { $remaining_ml }.
    { recorded-by }
recorded-out-of-fridge =
    { $state ->
        [out] { $patient }: vial { $vial } out of the fridge, { $at }.
       *[back] { $patient }: vial { $vial } back in the fridge, { $at }.
    }
    It was out for { $minutes }.
    { call }
recorded-corrected =
    { $has_planned ->
        [yes] { $patient }: record changed for the dose of { $planned }.
       *[no]
            { $has_vial ->
                [yes] { $patient }: record changed for vial { $vial }.
               *[no] { $patient }: record changed.
            }
    }
    { $what ->
        [given]
            { $has_given_at ->
                [yes] Now on record: { $volume_ml } given, { $given_at }.
               *[no] Now on record: given.
            }
        [not-given] Now on record: not given.
        [mixed] Now on record: mixed.
       *[taken-back] Now on record: nothing. The record before no longer counts.
    }
    Mixed: { $mixed_at }.
    Discard it by { $discard_by }.
    { $what ->
        [taken-back] { undone-by }
       *[other] { given-by }
    }
    { vial-after }
    { unplaced }
    { not-as-planned }
    Next dose: { $next }.
    { call }

## To an owner: what was understood, read back

confirm =
    { $about ->
        [given] { $patient }: record this dose as given?
        [not-given] { $patient }: record this dose as not given?
        [mixed] { $patient }: record { the-vial } as mixed?
        [discarded] { $patient }: record { the-vial } as discarded?
        [level] { $patient }: record the level seen in { the-vial }?
        [out-of-fridge] { $patient }: record that { the-vial } was out of the fridge?
        [taken-back] { $patient }: take back the record of this dose?
        [supplies] { $patient }: record what you wrote about supplies?
        [which-patient] Which animal do you mean?
        [which-time] { $patient }: which time do you mean?
        [which-dose] { $patient }: which dose do you mean?
        [when] { $patient }: when was it given?
        [amount] { $patient }: how many mL went in?
        [amount-meaning] { $patient }: what does this number mean?
        [nothing-open] No question is open now.
        [dropped] Nothing was recorded.
        [zone] { $patient }: change the planned times to another clock?
       *[pending] { $patient }: nothing is recorded, the dose is still open.
    }
    { $about ->
        [zone] Next dose then: { $planned }.
       *[other] Dose of { $planned }.
    }
    The clock of { $zone }.
    It is { $here_now } there now.
    Time since the dose before: { $gap }.
    Unmixed vials: { $vials_left }.
    Syringes: { $syringes }.
    Needles: { $needles }.
    Diluent: { $diluent_count }.
    { $about ->
        [not-given]
            { $has_by ->
                [yes] On record now: given { $given_at }, by { $by }.
               *[no] On record now: given { $given_at }.
            }
       *[other] Given: { $given_at }.
    }
    Mixed: { $mixed_at }.
    { $has_volume_ml ->
        [yes] Volume: { $volume_ml }.
       *[no] {""}
    }
    { $about ->
        [given] From vial { $vial }.
        [level] Level: { $level_ml }.
        [amount-meaning] Level: { $level_ml }.
       *[other] {""}
    }
    { $late ->
        [yes]
            This is outside the time window.
            Your clinic will be told.
       *[no] {""}
    }
    { $about ->
        [which-patient] Nothing is recorded yet.
        [which-time] Nothing is recorded yet.
        [which-dose] Nothing is recorded yet.
        [when] Write the time, such as “given at 7:40 am”.
        [amount] Write it, such as “gave 0.7 mL”.
        [amount-meaning] Write it with words, such as “gave 0.7 mL”.
        [nothing-open] Write it in full, such as “given at 7:40 am”.
        [dropped] You can write it in full, such as “given at 7:40 am”.
        [pending] Tap { label-given } or { label-not-given }.
       *[other] Nothing is recorded until you tap { label-yes }.
    }
    { $rest ->
        [yes]
            I did not understand all of it.
            Your clinic was sent your words.
       *[no] {""}
    }
    { not-sure }

## To an owner: answers

answer-remaining =
    { $has_vial ->
        [yes] { $patient }: vial { $vial } holds { $remaining_ml } by our count.
       *[no] { no-mixed-vial }
    }
    { $has_vial ->
        [yes]
            { $past ->
                [yes] {""}
               *[no] That is { doses }.
            }
       *[no] { if-mixed }
    }
    Discard it by { $discard_by }.
    { past-limit }
answer-doses-left =
    { $has_vial ->
        [yes]
            { $past ->
                [yes] { $patient }: no dose left in vial { $vial }, past its time limit.
               *[no] { $patient }: { doses } left in vial { $vial }.
            }
       *[no] { no-mixed-vial }
    }
    { $has_vial ->
        [yes] By our count it holds { $remaining_ml }.
       *[no] { if-mixed }
    }
    Discard it by { $discard_by }.
    { past-limit }
answer-discard-by =
    { $has_vial ->
        [yes] { $patient }: discard vial { $vial } by { $discard_by }.
       *[no] { no-mixed-vial }
    }
    { $has_vial ->
        [yes] {""}
       *[no] { if-mixed }
    }
    { past-limit }
    It was mixed { $mixed_at }.
answer-mixed-at =
    { $has_vial ->
        [yes] { $patient }: vial { $vial } was mixed { $mixed_at }.
       *[no] { no-mixed-vial }
    }
    { $has_vial ->
        [yes] {""}
       *[no] { if-mixed }
    }
    Discard it by { $discard_by }.
    { past-limit }
answer-next-dose =
    { $has_planned ->
        [yes]
            { $open ->
                [yes] { $patient }: dose due now, planned { $planned }.
               *[no] { $patient }: next dose { $planned }.
            }
       *[no] { $patient }: no more doses planned.
    }
    The dose is { $volume_ml }.
    { $open ->
        [yes] It has no answer yet.
       *[no] {""}
    }
second-report =
    { $status ->
        [not-given] {""}
       *[other]
            A second report is not a second dose.
            Was it given twice? Then call your clinic.
    }
answer-last-dose =
    { $has_planned ->
        [yes]
            { $again ->
                [yes] { $patient }: already on record, dose of { $planned }.
               *[no] { $patient }: last dose, { $planned }.
            }
       *[no] { $patient }: no dose on record yet.
    }
    { $status ->
        [given] Given { $given_at }, by { $by }.
        [not-given] Not given. Recorded by { $by }.
        [unanswered] No answer on record.
       *[other] {""}
    }
    Recorded by { $recorded_by }.
    Volume: { $volume_ml }.
    { $again ->
        [yes] { second-report }
       *[no] {""}
    }
    { not-sure }
answer-volume =
    { $patient }: one dose is { $volume_ml }.
    Syringe: { $syringe_ml }.
answer-diluent =
    { $patient }: { $diluent_ml } of { $diluent } for one vial.
    Then { $available_ml } can be drawn from it.
answer-syringe =
    { $patient }: { $syringe_ml } syringe.
    One dose is { $volume_ml }.
answer-course-left =
    { $doses_left ->
        [0] { $patient }: no doses left in the course.
        [one] { $patient }: 1 dose left in the course.
       *[other] { $patient }: { $doses_left } doses left in the course.
    }
    { $given } of { $doses } are on record as given.
    Last dose: { $ends }.
    The vials at home do not reach the dose of { $runs_out }.
answer-supplies =
    { $patient }: supplies at home, by our count.
    Unmixed vials: { $vials_left }.
    Supply runs out: { $runs_out }.
    Syringes: { $syringes }.
    Needles: { $needles }.
    Doses left in the course: { $doses_left }.
answer-schedule =
    { $patient }: { $volume_ml } at { $times }.
    Next dose: { $planned }.
    Last dose: { $ends }.
answer-clinic-contact =
    { $clinic }: { $phone }
    Hours: { $hours }
    When closed: { $emergency_phone }
answer-help =
    You can write “given” or “not given”.
    Write “mixed” when you mix a vial.
    Write “discarded” when you throw one away.
    You can ask “how much is left?”.
    You can ask “when is the next dose?”.
    You can ask “was it given?”.
    All else is for your clinic: { $phone }
answer-steps =
    { $topic ->
        [mixing] { $patient }: mixing, step { $step } of { $steps }.
        [drawing-up] { $patient }: drawing up, step { $step } of { $steps }.
        [sharps] { $patient }: needles and sharps, step { $step } of { $steps }.
       *[injecting] { $patient }: injecting, step { $step } of { $steps }.
    }
    { $words }
    These are the words of { $clinic }.
answer-clinic-note =
    { $clinic } says:
    { $words }
call-clinic =
    { call }
    { $passed ->
        [yes] Your words were passed on to the clinic.
       *[no] {""}
    }
    { $open ->
        [no] The clinic is closed now.
        [yes] The clinic is open now.
       *[other] {""}
    }
    Hours: { $hours }
    In an emergency call: { $emergency_phone }
emergency =
    { $has_emergency_phone ->
        [yes] Call now: { $phone } or { $emergency_phone }
       *[no] Call now: { $phone }
    }
    Do not wait for an answer here.
    { $passed ->
        [yes] Your words go to the clinic too.
       *[no] {""}
    }
clinic-reply =
    { $has_patient ->
        [yes] { $patient }: { $by } from your clinic writes:
       *[no] { $by } from your clinic writes:
    }
    { $words }
    You wrote: { $text }

## To the clinic

clinic-missed-dose =
    { $reason ->
        [not-given] Not given: { who }
       *[other] No answer: { who }
    }
    Dose of { $planned }, { $late_minutes } ago.
    Not given or no answer in this course: { $missed }.
    Last given: { $last }.
    They last wrote: { $said }
    { call-home }
    { household }
clinic-question =
    { $why ->
        [question] Question: { who }
        [not-understood] Not understood: { who }
        [medium] Photo, voice or file: { who }
        [edited] Earlier message changed: { who }
        [late-answer] Late answer: { who }
        [early] Before the dose's time: { who }
        [outside-window] Outside the time window: { who }
        [past] About an earlier time: { who }
        [other-amount] Other amount: { who }
        [corrected] Record changed: { who }
        [taken-back] Took a record back: { who }
        [spare-vial] More vials mixed than dispensed: { who }
        [out-of-fridge] Vial out of the fridge: { who }
        [zone] Travel or time zone: { who }
       *[other] Owner wrote: { who }
    }
    { $by }: { $text }
    It was out for { $minutes }.
    { $of_dose ->
        [yes] About the dose of { $planned }, { $volume_ml }.
       *[no] { next-open-dose }
    }
    Last given: { $last }.
    { clinic-vial }
    { call-home }
    { household }
clinic-vial =
    { $has_discard_by ->
        [yes] Vial { $vial }: { $remaining_ml } left, discard by { $discard_by }.
       *[no] Vial { $vial }: { $remaining_ml } left.
    }
clinic-emergency =
    EMERGENCY WORDS: { who }
    { $by }: { $text }
    The owner was told to call now.
    { next-open-dose }
    Last given: { $last }.
    { clinic-vial }
    { call-home }
    { household }
clinic-vial-past-limit =
    Dose from a vial past its limit: { who }
    { $volume_ml } given { $given_at }, by { $by }.
    Vial { $vial }, limit { $discard_by }.
    { call-home }
    { household }
clinic-supply-low =
    Supply low: { who }
    Unmixed vials left: { $vials_left }.
    Runs out: { $runs_out }.
    Course ends: { $ends }.
    { call-home }
    { household }
clinic-level-differs =
    Level differs: { who }
    Vial { $vial }: { $level_ml } seen, { $remaining_ml } by our count.
    Recorded by { $by }.
    { call-home }
    { household }
clinic-unreachable =
    Not reached: { who }
    { $why ->
        [blocked] { $by } has closed the chat.
        [never-joined] { $by } has not opened the invitation.
       *[other] Messages to { $by } do not arrive.
    }
    { call-home }
    { household }
clinic-outage =
    { $why ->
        [undelivered] Messages not delivered: { who }
        [unreached] The messenger could not be reached.
       *[down] This program was down: { who }
    }
    From { $since } to { $until }. Messages waited meanwhile.
    { $why ->
        [undelivered] A reminder did not arrive, dose of { $planned }.
       *[other] { doses-not-asked }
    }
    The last: { $last }.
    { call-home }
    { household }
doses-not-asked =
    { $doses ->
        [one] 1 dose was not asked for: { $planned }.
       *[other] { $doses } doses were not asked for, the first { $planned }.
    }
clinic-not-seen =
    { $unseen ->
        [yes] NOT SEEN: { who }
       *[no] Not answered: { who }
    }
    { alert-about }
    The clinic was told { $waited_minutes } ago.
    { $on_call ->
        [yes] For whoever is on call.
       *[no] {""}
    }
    For { $name }.
    { $by }: { $text }
    It was out for { $minutes }.
    { waiting-dose }
    Doses: { $doses }.
    Not given or no answer in this course: { $missed }.
    Last given: { $last }.
    They last wrote: { $said }
    { waiting-given }
    { waiting-vial }
    Carer: { $carer }.
    { call-home }
    { household }
    { $last_rung ->
        [yes] Nobody else is told. It stays on the board until somebody taps Seen.
       *[no] {""}
    }
waiting-dose =
    { $has_late_minutes ->
        [yes] Dose of { $planned }, { $late_minutes } ago.
       *[no] { waiting-next-dose }
    }
waiting-next-dose =
    { $of_dose ->
        [yes] About the dose of { $planned }, { $volume_ml }.
       *[no] { waiting-planned }
    }
waiting-planned =
    { $has_volume_ml ->
        [yes] { next-open-dose }
       *[no] The first: { $planned }.
    }
waiting-given =
    { $has_late_minutes ->
        [yes] Recorded since: { $volume_ml } given { $given_at }, by { $by }.
       *[no] { $volume_ml } given { $given_at }, by { $by }.
    }
waiting-vial =
    { $has_given_at ->
        [yes] Vial { $vial }, limit { $discard_by }.
       *[no] { waiting-level }
    }
waiting-level =
    { $has_level_ml ->
        [yes] Vial { $vial }: { $level_ml } seen, { $remaining_ml } by our count.
       *[no] { clinic-vial }
    }
clinic-seen =
    { $status ->
        [seen] Seen: { who }
        [seen-before] Seen before: { who }
        [called] Called, not reached: { who }
        [ended] Alert closed: { who }
       *[ended-before] Alert closed before: { who }
    }
    { alert-about }
    { how-ended }
    By { $by }, { $at }.
    Dose of { $planned }.
    { $from }: { $text }
    { $how ->
        [given-late-on-order] { dose-as-it-was }
        [left-out-on-order] { dose-as-it-was }
       *[other] {""}
    }
    { household }
alert-about =
    { $about ->
        [emergency] Emergency words.
        [missed-dose] Dose not given, or no answer.
        [question] Owner's message.
        [vial-past-limit] Dose from a vial past its limit.
        [level-differs] Level differs.
        [unreachable] Not reached.
        [outage] Doses not asked for, or reminders not delivered.
       *[supply-low] Supply low.
    }
how-ended =
    { $how ->
        [reached-owner] { label-ended-reached-owner }
        [no-answer] { label-ended-no-answer }
        [given-late-on-order] { label-ended-given-late-on-order }
        [left-out-on-order] { label-ended-left-out-on-order }
        [comes-in] { label-ended-comes-in }
        [handed-out] { label-ended-handed-out }
        [otherwise] { label-ended-otherwise }
       *[other] {""}
    }
dose-as-it-was = No dose was recorded by this. The owner records it.
clinic-questions =
    { $count ->
        [0] No owner waits for an answer.
        [one] 1 owner's message waits for an answer.
       *[other] { $count } messages of owners wait for an answer.
    }
    Not shown: { $more }. Answer those below, then write “questions” again.
clinic-answered =
    { $status ->
        [sent] Sent: { who }
        [closed] Not sent, the alert was closed before: { who }
        [not-reached] Not sent, nobody is reached: { who }
       *[names-another] Not sent, another name in it: { who }
    }
    { $status ->
        [sent] To { $to }, from { $by }.
        [closed] By { $by }, { $at }.
        [not-reached] Call them.
       *[names-another] Your words name { $other }. They would go to { $to }. Meant for { $other }? Reply to that home's message. If not, write them without that name.
    }
    { how-ended }
    { $before_by } answered before, { $before_at }.
    { $from }: { $text }
    { call-home }
    { household }
clinic-alerts =
    { $count ->
        [one] 1 alert. Tap the name to take it.
       *[other] { $count } alerts. Tap a name to take that one.
    }
    { $text }
clinic-patient =
    { who }
    Each dose: { $volume_ml }, at { $times }.
    Given: { $given } of { $doses }. Not given or no answer: { $missed }.
    { $asking ->
        [paused] Paused: no dose is asked for.
        [unconfirmed] Order not confirmed: no dose is asked for.
       *[other] {""}
    }
    Next dose: { $planned }.
    Course ends: { $ends }.
    { $last_doses }
    { $last_vials }
    Unmixed vials: { $vials_left }.
    Syringes: { $syringes }.
    Needles: { $needles }.
    { $open_alerts }
    They last wrote: { $said }
    { call-home }
    { household }
clinic-staff =
    { $what ->
        [joined] On the clinic's staff list now:
        [bound] This is the clinic's chat now:
        [on-call] On call:
        [nobody-on-call] Nobody is on call by name. Write “on call” and a name.
       *[not-on-the-staff] Not on the clinic's staff list:
    }
    { $name }
    { $role ->
        [technician] Technician.
        [veterinarian] Veterinarian.
       *[other] {""}
    }
clinic-note =
    { $what ->
        [no-question] Not sent. Nobody waits for an answer to that message. Reply to an owner's message.
        [several] Not sent. That message holds several alerts. Reply to one owner's message, or call.
        [no-such-patient] Nobody under treatment has that name. Write “board” to see all.
        [not-staff] You are not on the clinic's staff list. You can read here. Nothing was changed.
        [veterinarian] A veterinarian has to record this. Nothing was changed.
        [veterinarian-confirms] A veterinarian has to confirm this. Nothing was changed. The button stays.
       *[undelivered] A message to this chat could not be sent. Write “board” and see who needs a call.
    }
clinic-digest =
    { $count ->
        [0] Today: no patients.
        [one] Today: 1 patient.
       *[other] Today: { $count } patients.
    }
    { $action ->
        [one] 1 patient needs somebody.
       *[other] { $action } patients need somebody.
    }
    Page { $page } of { $pages }.
    { $text }
clinic-board =
    { $count ->
        [0] Under treatment: no patients.
        [one] Under treatment: 1 patient.
       *[other] Under treatment: { $count } patients.
    }
    { $action ->
        [one] 1 patient needs somebody.
       *[other] { $action } patients need somebody.
    }
    Page { $page } of { $pages }.
    { $text }
change-of =
    { $change ->
        [dose] Change of dose
        [times] Change of times
        [zone] Change of time zone
        [length] Change of length
        [carer-added] New carer
        [carer-removed] Carer removed
        [paused] Pause
        [resumed] End of the pause
        [ended] End of the course
       *[other] Change
    }
clinic-order-check =
    { $status ->
        [change] { change-of }, please check: { who }
        [change-second] { change-of }, not in force yet: { who }
        [changed] { change-of }, in force now: { who }
        [change-dropped] { change-of }, cancelled: { who }
        [change-same-person] { change-of }, not confirmed: { who }
        [change-refused] { change-of }, nothing was changed: { who }
        [change-closed] { change-of }, no longer open: { who }
        [which]
            { $has_patient ->
                [yes] Which { $patient } is meant, { $owner }?
               *[no] Which patient is meant, { $owner }?
            }
        [unclear] Not understood, nothing was changed: { who }
        [confirmed] Order confirmed: { who }
        [already] Confirmed before: { who }
        [same-person] Not confirmed: { who }
        [refused] Not enrolled, nothing was changed: { who }
       *[check] Check this order: { who }
    }
    { $status ->
        [change] Entered by { $by }. Nothing is changed until you tap { label-confirm }.
        [change-second] { $by } entered it. A second person must tap { label-confirm }.
        [changed] Confirmed by { $by }.
        [change-dropped] By { $by }. Nothing was changed.
        [change-same-person] { $by } entered it. A second person must confirm it.
        [change-refused] Sent by { $by }.
        [change-closed]
            { $has_by ->
                [yes] It was answered before, by { $by }.
               *[no] It is too old now. Enter it again.
            }
        [which] Nothing is changed yet.
        [unclear] Sent by { $by }.
        [confirmed] By { $by }. It takes effect now.
        [already] By { $by }.
        [same-person] { $by } entered it. A second person must confirm it.
        [refused] Sent by { $by }.
       *[check] Entered by { $by }. A second person must confirm it.
    }
    Entered by { $entered_by }.
    { $text }
    { $change ->
        [length] Before: { $before } doses.
       *[other] Before: { $before }.
    }
    { $change ->
        [length] After: { $after } doses.
       *[other] After: { $after }.
    }
    It holds from the dose of { $planned } on.
    The dose of { $asked_before } was asked for before and stays as it was.
    Time since the dose before, { $last }: { $gap }.
    { $gap_flag ->
        [yes] LOOK: the clinic's rule has another span between two doses.
       *[no] {""}
    }
    From the dose of { $next } on, none is asked for.
    Doses given: { $given }. Doses left: { $doses_left }.
    Last dose: { $ends_before } before, { $ends } after.
    Unmixed vials at home: { $vials_left }. Needed from here on: { $vials_needed }.
    LOOK: they do not reach the dose of { $runs_out }. Vials short: { $vials_short }.
    { $nobody ->
        [yes] LOOK: nobody is left who is asked for doses.
       *[no] {""}
    }
    Ordered by { $veterinarian }: { $product }.
    { $weight_lb } x 0.45359237 = { $weight_kg }.
    { $weight_kg } x { $rate } = { $mass }.
    { $mass } / { $concentration } = { $exact_ml }.
    { $syringe_ml } syringe, marks of { $graduation_ml }: draw { $volume_ml }.
    Rounding changes the dose by { $rounding }.
    { $rounding_flag ->
        [yes] LOOK: that is above the clinic's limit.
       *[no] {""}
    }
    One vial: { $concentration } x { $available_ml } = { $drawable }. Label: { $strength }. Difference: { $label }.
    { $label_flag ->
        [yes] LOOK: the figures of the label do not agree.
       *[no] {""}
    }
    Doses: { $doses }. Vials: { $vials }. Diluent in all: { $diluent_ml }. Thrown away: { $thrown_ml }.
    Syringes: { $syringes }. Needles: { $needles }.
    Sharps container: { $sharps_count } x { $sharps_size }, changed at three quarters.
    { household }
clinic-enrolled =
    Enrolled: { who }
    One dose: { $volume_ml }. Diluent for one vial: { $diluent_ml }.
    First dose: { $planned }.
    Last dose: { $ends }.
    Doses: { $doses }. Vials to dispense: { $vials }.
    { household }
    { $has_links ->
        [yes]
            { $hours ->
                [one] Invitations, valid for 1 hour:
               *[other] Invitations, valid for { $hours } hours:
            }
       *[no] {""}
    }
    { $links }
clinic-enrolling =
    { $status ->
        [cancelled] { $by }: cancelled, nobody was enrolled.
        [closed] { $by }: no enrolment of yours is open here. Write “enrol” to begin.
        [resumed] Enrolment by { $by }, from where it stopped.
       *[ask] Enrolment by { $by }.
    }
    { $wrong }
    Question { $step } of { $steps }.
    { $question ->
        [patient] What is the patient called?
        [species] Which species? Tap one or write it.
        [weight] What does it weigh? Write it like: 30 kg, or: 66 lb
        [product] What is dispensed? Tap it.
        [dose] How much is one dose? Write it like: 14 mg/kg, or: 420 mg, or: 1.5 mL
        [times] At which times each day? Tap them or write them like: 07:30 19:30
        [first] When is the first dose? Tap it or write it like: 2026-03-05 19:30
        [length] How long is the course? Write it like: 28 days, or: 56 doses
        [owner] Who is the owner?
        [language] In which language are they written to?
        [zone] On which clock do they live? Tap it or write it like: America/Denver
        [carers] Who else gives doses there? Write names with commas between them.
        [vials] How many vials go home? Write the number.
        [veterinarian] Which veterinarian ordered it?
       *[other] {""}
    }
clinic-invitation =
    Invitation for { $name } (household of { $owner }):
    { $link }
    { $hours ->
        [one] Valid for 1 hour, for one person.
       *[other] Valid for { $hours } hours, for one person.
    }

## On paper: the calendar file

bot-description = Your clinic's bot for injections at home. It reminds you, keeps the books of every vial, and sends all else to the clinic. It does not give advice.
menu-next = When is the next dose?
menu-left = How much is left in the vial?
menu-steps = The clinic's steps for mixing
menu-calendar = The planned doses for your phone's calendar
menu-clinic = How to reach the clinic
menu-help = What you can write
board-patient = { $patient } ({ $owner }, household { $household }): { $given } of { $doses } given, { $missed } not given or no answer.
board-last = Last: { $last }.
board-vial = Vial { $vial }: { $remaining_ml } until { $discard_by }.
board-vials = Unmixed vials: { $vials_left }.
board-alerts = NOT SEEN: { $alerts }.
board-unanswered = Not answered: { $count }.
board-past-limit = Vial past its limit.
board-unreached = Nobody there is reached.
board-runs-out = Vials will run out.
board-paused = Paused.
board-unconfirmed = Order not confirmed: no dose is asked for.
board-brief = { $patient } ({ $owner }): { $given } of { $doses } given.
patient-given = { $planned }: { $volume_ml } given { $given_at }, by { $by }.
patient-not-given = { $planned }: not given, says { $by }.
patient-unanswered = { $planned }: no answer.
patient-open = { $planned }: asked, not answered yet.
patient-vial =
    { $state ->
        [discarded] Vial { $vial }: discarded. Mixed { $mixed_at }, limit { $discard_by }, { $remaining_ml } left then.
        [past-limit] Vial { $vial }: PAST ITS LIMIT. Mixed { $mixed_at }, limit { $discard_by }, { $remaining_ml } left.
        [empty] Vial { $vial }: empty. Mixed { $mixed_at }, limit { $discard_by }, { $remaining_ml } left.
       *[in-use] Vial { $vial }: mixed { $mixed_at }, discard by { $discard_by }, { $remaining_ml } left.
    }
patient-alert =
    { $seen ->
        [no] NOT SEEN, { $at }: { alert-about }
       *[yes] Not answered, { $at }: { alert-about }
    }
calendar-name = { $patient }: doses
calendar-event = { $patient }: dose, { $volume_ml }
calendar-details =
    Draw { $volume_ml } in the { $syringe_ml } syringe.
    This entry follows the veterinarian's order.
    It does not know what was given.
    If the order changes, ask for a new file.
    Not sure? Call { $clinic }: { $phone }

## On paper: the take-home sheet

sheet-kind = Take-home sheet
sheet-for = { $species }, { $weight } · for { $owner }
sheet-call = Call the clinic
sheet-call-closed = When it is closed
sheet-each-dose = Each dose
sheet-at = every day at { $times }
sheet-syringe = Syringe of { $syringe_ml }
sheet-mark = fill to { $mark_ml }
sheet-ordered = { $product } · { $ordered } · ordered by { $veterinarian }
sheet-course =
    { $doses ->
        [one] 1 dose: { $first }.
       *[other] { $doses } doses: the first { $first }, the last { $last }.
    }
sheet-vial = Each vial
sheet-diluent =
    Add { $diluent_ml } of { $diluent }.
    Then { $available_ml } can be drawn from it.
    Keep a mixed vial in the refrigerator.
sheet-discard =
    { $has_days ->
        [yes] Discard it { $hours } hours ({ $days } days) after mixing, even if some is left.
       *[no] Discard it { $hours } hours after mixing, even if some is left.
    }
    Was it left out? Call the clinic.
sheet-mixing = Mixing a vial
sheet-drawing-up = Drawing up a dose
sheet-injecting = Injecting
sheet-sharps = Used needles
sheet-no-steps = The clinic has not written steps for this. Ask before you start: { $phone }
sheet-more-steps = The clinic has more steps than fit on this page. Ask for them: { $phone }
sheet-table = Doses
sheet-table-how = Given: write the time. Not given: cross the box and call the clinic.
sheet-table-mixed = Vial mixed
sheet-table-ends = This table ends with { $last }. The course goes on: ask the clinic for the next sheet.
sheet-supplies = Needed for the doses to come
sheet-supply-vials =
    { $vials ->
        [one] 1 vial of powder, { $diluent_ml } of diluent for it
       *[other] { $vials } vials of powder, each with { $diluent_ml } of diluent
    }
sheet-supply-syringes =
    { $syringes ->
        [one] 1 syringe of { $syringe_ml }
       *[other] { $syringes } syringes of { $syringe_ml }
    }
sheet-supply-needles =
    { $needles ->
        [one] 1 needle
       *[other] { $needles } needles: one to draw, one to inject
    }
sheet-supply-mixing =
    { $syringes ->
        [one] 1 syringe with its needles, for mixing only
       *[other] { $syringes } syringes with their needles, for mixing only
    }
sheet-supply-sharps =
    { $containers ->
        [one] 1 sharps container of { $size }: change it at three quarters
       *[other] { $containers } sharps containers of { $size }: change at three quarters
    }
sheet-cautions = Keep in mind
sheet-caution-lines =
    Keep all of this away from children and animals.
    Local rules say where full sharps containers go: ask the clinic.
    Late, missed, another volume, an odd-looking vial? Call the clinic.
    This sheet follows the veterinarian's order. It does not give advice.
sheet-scan = Scan to join the reminders
sheet-scan-until = until { $until }
sheet-printed = Printed { $printed } for { $clinic }. If the order changes, this sheet no longer holds: ask for a new one.

## On paper: the picture of a course

picture-title = { $patient }: { $volume_ml } a dose
picture-given = { $given } of { $doses } given
picture-not-given = { $count } not given
picture-unanswered = { $count } without an answer
picture-key-given = given
picture-key-not-given = not given
picture-key-unanswered = no answer
picture-key-planned = planned
picture-key-limit = discard by
picture-vials = Below the doses: mL left in each mixed vial
picture-vial = vial { $vial }
picture-now = Now: { $now }
picture-span = Shown here: { $first } to { $last }.
