//! The English words the reader knows. Words of one table row stand for the
//! same thing; `_` joins the words of a phrase, the longest phrase wins. An
//! apostrophe inside a word falls away when it is read: such words are owners'
//! own, and the program itself does not use them.

use super::concept::C;

pub(super) const WORDS: &[(C, &str)] = &[
    // Doses.
    (
        C::Gave,
        "stuck_it_in_him stuck_it_in_her went_under stick_done needle_done its_all_in tonights_is_in tonights_one_is_in jab_is_in injection_is_in shot_went_in dose_went_in jab_went_in injection_went_in got_the_jab_in got_the_injection_in got_her_shot_in got_his_shot_in got_his_jab_in got_her_jab_in did_the_evening_one did_the_morning_one did_the_evening_jab did_the_morning_jab did_his_jab did_her_jab did_his_injection did_her_injection given_to its_in it_is_in its_all_in admind got_it_into got_it_in_him got_it_in_her jagged gve gav gvae gave injected inject_ed jabbed administered dosed stuck_him stuck_her poked_him poked_her poked did_the_shot did_the_injection did_the_jab did_his_shot did_her_shot did_the_dose shot_him shot_her shot_is_in dose_is_in tonight_is_in jabbed_him gived given_him given_her given_it given_the gave_him gave_her gave_it got_it_in got_the_shot_in got_the_dose_in shot_up done_giving finished_giving dosed_him dosed_her pricked_him pricked_her",
    ),
    (
        C::GavePart,
        "injection_in shot_in jab_in dose_in given administered injected went_in in_him in_her is_in went_well went_fine",
    ),
    (
        C::Give,
        "stick stick_him stick_her jab_him jab_her be_jabbed be_injected be_poked get_the_needle gets_the_needle get_the_jab gets_the_jab getting_the_needle dosing give gives giving inject injecting administer administering jab dose_him dose_her do_the_shot do_the_injection do_his_shot do_her_shot do_it do_the_next_one do_the_next do_the_shots shoot_him get_his_shot get_her_shot get_his_dose get_her_dose get_it poke_him poke_her do_the_evening do_the_morning do_the_jab injections_for needing_to_give do_that",
    ),
    (
        C::Done,
        "over_and_done_with over_and_done over_with_for_today were_done_with done_dusted done_and_dusted done_with_tonight done_with_the_shot done_with_his done_with_her done_with_the_dose took_care_of done did did_it did_that did_hers did_his finished complete completed sorted logged all_set take'n_care_of over_with accomplished ticked_off good_to_go",
    ),
    (
        C::Got,
        "has_had_his has_had_her hes_had_his shes_had_her shes_had_the hes_had_the had_the_lot receive receives had got gotten received took takes gets get got_his got_her got_its had_his had_her had_its",
    ),
    (
        C::Missed,
        "got_missed was_missed got_skipped got_forgotten was_forgotten never_got_her never_got_his never_got_it never_got_the never_got_one never_had_her never_had_his never_had_it went_without didnt_get_done never_got_done slept_straight_through slept_right_through forgot_all_about clean_forgot completely_forgot totally_forgot failed fail missed forgot forgotten ski'pped overslept slept_through spaced spaced_out_on refused passed_on didnt_happen did_not_happen never_happened slipped_my_mind wouldnt_let missd forgt left_out missing",
    ),
    (
        C::DrawUp,
        "draw_up drawing_up drew_up draw pull_up pull_into drawing fill_the_syringe fill drew pull load",
    ),
    (
        C::Dose,
        "pm_dose am_dose evening_dose morning_dose dose_in_ml dose_in_mls jab_in_ml shot_in_ml injection_in_ml dose_in_millilitres dose_in_milliliters tonights_needle this_mornings_needle evening_needle morning_needle next_needle last_needle the_needle_tonight poke second_shot_of_the_day second_dose_of_the_day second_injection_of_the_day second_one_of_the_day is_there_another_dose is_there_another_shot is_there_another_injection injection_in shot_in jab_in dose_in jag shot jab injection dose dosage inj injection_shot poke meds_shot medicine_shot shot_medicine needle_poke treatment_shot jabs_dose shott hers his_one the_one one evening_one morning_one pm_one am_one",
    ),
    (
        C::Doses,
        "how_many_more_goes how_many_goes jags shots jabs injections doses dosages injs injection_doses",
    ),
    // Vials.
    (
        C::Mixed,
        "mix_time mixing_time time_mixed time_of_mixing mixed_time mixed_and_labelled reconned made_one_up made_it_up got_its_water got_its_diluent prepped_and_mixed powder_is_dissolved mixing_is_done finished_mixing done_mixing mixed reconstituted prepared prepped made_up made mixed_up dissolved recon made_a_new_vial mixxed did_the_mixing blended stirred_up mixing_done",
    ),
    (
        C::Mix,
        "dilute diluting mix mixing reconstitute reconstituting prepare preparing make_up making_up dissolve prep make mixture reconstitution preparation mix_up",
    ),
    (
        C::Put,
        "powder_take powder_takes the_powder_take squirt squirting inject_into_the_vial inject_into_the_bottle popped go go_in go_into goes goes_in goes_into put added add adding pour_in squirted drew_in injected_into put_in",
    ),
    (
        C::Discarded,
        "its_in_the_rubbish its_in_the_bin its_in_the_trash its_in_the_garbage its_in_the_sharps went_out_with_the_rubbish went_out_with_the_trash went_out_with_the_garbage went_out_in_the_trash gone_out_with_the_rubbish gone_in_the_bin gone_into_the_bin went_into_the_bin went_into_the_sharps went_into_the_trash is_in_the_garbage is_in_the_trash is_in_the_rubbish is_in_the_sharps in_the_rubbish_now in_the_garbage_now into_the_yellow_bin in_the_yellow_bin in_the_yellow_box into_the_yellow_box yellow_bin chucked_away slung_out slung binned_off disposed_off put_in_the_bin put_in_the_trash put_in_the_sharps discarded tossed threw_out threw_away thrown_out thrown_away binned chucked chucked_out dumped disposed disposed_of got_rid_of trashed ditched went_in_the_bin is_in_the_bin in_the_trash in_the_bin in_the_garbage in_the_sharps threw_it_out threw_it_away threw_it tossed_out tossed_it got_rid gone_in_the_trash in_the_rubbish thrown chucked_it binned_it threw_that_out into_the_bin into_the_trash into_the_sharps in_sharps in_the_sharps_bin in_the_sharps_container in_the_sharps_box finished_and_threw_out threw_the_old discarted to_the_trash put_the_old_vial_in_the_bin disgarded threw_them_out",
    ),
    (
        C::Discard,
        "need_binning needs_binning be_binned be_chucked be_tossed be_discarded be_disposed throw_away_date be_chucked_out get_thrown_out get_chucked have_to_go has_to_go needs_to_go be_thrown discard toss throw_out throw_away throw_it_out throw_it_away dispose dispose_of get_rid_of bin throw chuck dump ditch trash discarding throwing_out tossing throwing_away throwing disposal get_rid",
    ),
    (
        C::TookOut,
        "taking taking_out taking_it_out took_it_from take'n take_out took_out took_it_out take'n_out took_from removed pulled_out pulled brought_out took_the grabbed got_out got_it_out pull_out left_the_fridge came_out_of",
    ),
    (
        C::WasOut,
        "sat_on_the stood_on_the was_sitting_on_the was_standing_on_the was_out been_out is_out sat_out sitting_out has_been_out left_out_of stayed_out was_outside",
    ),
    (
        C::Return,
        "its_in_the_fridge_again in_the_fridge_again back_where_it_belongs popped_back popped_it_back_in put_it_back_in put_back_in slid_back shoved_back stuck_it_back whacked_back bunged_back tucked_back put_back put_it_back returned went_back back_in back_into put_away is_back popped_back placed_back goes_back back_inside returned_it stuck_back popped_it_back back_to_the_fridge inside_the_fridge",
    ),
    (C::Back, "back"),
    (C::Out, "out outside off_the"),
    (
        C::Vial,
        "the_one_thats_open the_open_one the_one_in_use the_current_one the_one_in_the_fridge the_one_thats_in_the_fridge the_mixed_one the_made_up_one the_one_we_mixed the_one_i_mixed the_opened_one bottle_of_powder bottle_of_the_powder vial_of_powder medicine_bottle med_bottle medication_bottle wee_bottle little_bottle glass_bottle tiny_bottle btl another_vial another_bottle new_one fresh_one vial bottle bottel vile vail botle vial_bottle container_vial ampoule ampule flask open_vial open_bottle phial",
    ),
    (
        C::Vials,
        "vial_count vials_count vials bottles viles ampoules ampules flasks phials",
    ),
    (
        C::Water,
        "sterile_stuff mixing_fluid mixing_diluent diluting_liquid diluting_fluid sterile_liquid sterile_fluid diluting_water water sterile_water diluent dilutant sterile_diluent bac_water liquid_for_mixing solvent mixing_water mixing_liquid sterile dilutent diluant bacteriostatic bacteriostatic_water water_for_injection injection_water sterile_wtaer",
    ),
    (
        C::Powder,
        "powder_take powder_takes the_powder_take powder powdered dry_powder",
    ),
    (
        C::Medicine,
        "stuff medicine medication liquid solution mixture med drug fluid treatment_liquid meds",
    ),
    (
        C::Syringe,
        "barrel syringe syringes_size syrynge seringe syringue",
    ),
    (C::Syringes, "syringe_count syringes_count barrels syringes"),
    (C::Needle, "needle_count needles_count needle needles"),
    (
        C::Supply,
        "needle_count needles_count vial_count vials_count syringe_count syringes_count count_of_needles count_of_vials count_of_syringes in_stock pack packet pouch how_stocked well_stocked tally stockpile running_total in_the_box in_the_kit supplies_last supplies_will_last sealed unmixed supplies kit stock inventory supply in_stock cupboard spares alcohol_wipes swabs spare unopened",
    ),
    (
        C::Fridge,
        "its_in_the_fridge left_the_fridge back_to_the_fridge inside_the_fridge fridge refrigerator frige refridgerator frig icebox fridg refrig cooler refrigeration",
    ),
    (
        C::Bin,
        "bin trash garbage rubbish sharps_bin sharps_container sharps_box sharps",
    ),
    (
        C::Course,
        "continue continues carry_on carrying_on carry_on_for does_this_carry does_this_go_on go_on_for this_go_on the_whole_thing_of_injections how_far_are_we keep_doing_this keep_doing_it keep_this_up keep_giving keep_going day_number how_far_along how_far_into course treatment therapy whole_treatment prescription program programme treatments regimen",
    ),
    (
        C::Clinic,
        "surgerys the_surgerys vet_clinics the_surgery your_surgery surgery_open vet_surgery vets_surgery the_practice your_practice clinic clinics vet vets veterinarian practice hospital vet_clinic clinic_staff office doctor dr receptionist reception human real_person person somebody_at_the_clinic someone_at_the_clinic",
    ),
    (
        C::Phone,
        "what_number_do_i_ring what_number_do_i_call do_i_ring_for what_number_do_i number_do_i_ring number_do_i_call do_i_ring which_number after_hours_number out_of_hours_number emergency_line what_street which_street street_address what_road postcode zip_code how_do_i_reach how_can_i_reach how_do_i_get_hold how_do_i_ring how_do_i_call clinics_number clinics_phone landline phone telephone phone_number contact adress address email number_for number_of call_you call_the reach contact_info get_hold get_in_touch contact_details talk_to speak_to speak_with get_ahold ring_you ring_the clinic_number phone_no tel emergency_number call location located directions whatsapp vet_number vets_number your_number",
    ),
    (
        C::Level,
        "looking_at eyeballing_it eyeball id_say i_would_say i_reckon is_holding is_sitting_at is_down_to down_to is_up_to up_to_the comes_up_to reaches the_mark ml_mark mls_mark mark level_is level_of fluid_level liquid_level by_eye by_my_eye held_to_the_light held_up_to_the_light held_it_up_to_the_light held_it_to_the_light just_looked checked just_checked measured_it ive_got still_got counted i_counted we_counted level reading meniscus vial_check reads shows showing at_the_line marks show i_see i_can_see im_seeing i_count looks_like i_can_count seeing i_measure eyeballing measured looks there_is theres there_are see contains",
    ),
    (
        C::Steps,
        "steps step_by_step walk_me show_me instructions_for guide procedure explain tutorial how_to teach_me demonstrate process step",
    ),
    // Asking.
    (
        C::HowMuch,
        "amnt amout ammount is_there_much much_left amt how_full how_much hw_much how_mcuh howmuch what_amount what_volume what_quantity amount how_big how_mch hwo_much wat_amount",
    ),
    (
        C::HowMany,
        "needle_count vial_count syringe_count needles_count vials_count syringes_count how_many_more_goes how_many_goes how_many_more_goes_of whats_the_count_of whats_our_stock_of how_much_stock_of how_are_we_doing_on how_are_we_for how_am_i_doing_on how_many howmany hwo_many how_mny number_of how_mani no_of count_of hw_many",
    ),
    (
        C::When,
        "mix_time mixing_time time_mixed time_of_mixing mixed_time need_the_time i_need_the_time give_me_the_time when_was_the_time what_was_the_time on_what_date on_which_date on_which_day on_what_day which_date at_which_time what_day_and_time what_date_and_time whend when_is_the_last whens_the_last when_dose_the when_dose_it when_dose_this when_dose_my when_dose_his when_dose_her how_long_ago when whens wen when_s what_time what_times at_what_time what_hour at_what_hours what_day what_days which_day time_of whens_the what_date at_what_hour wht_time wat_time what_hours when_should what_times_are whn",
    ),
    (
        C::UntilWhen,
        "last_date last_date_for last_date_of use_by_time use_by_day up_until_when until_which_day up_to_what_day up_to_what_date until_when till_when by_when use_by up_to_when how_far_ahead til_when till_what_day until_what_day until_what_date by_what_date by_what_day",
    ),
    (
        C::HowLong,
        "how_many_days_and_hours how_much_life how_much_more_time how_far_through how_far_along how_far_into how_long how_much_longer how_much_time",
    ),
    (
        C::HowOften,
        "twice_a_day twice_daily is_it_twice_a_day every_how_many_hours how_often_a_day two_times_a_day two_times_each_day how_many_hours_between how_often how_frequently how_many_times how_frequent",
    ),
    (C::HowOld, "how_long_ago how_old"),
    (C::Who, "who whos who_s which_of_us who_was"),
    (
        C::Which,
        "which wich whch what_size what_kind what_type what_sort which_kind which_size",
    ),
    (
        C::What,
        "what whats wat what_is what_s whats_the what_are wht whatre",
    ),
    (C::How, "how hows"),
    (C::Where, "where wheres"),
    (C::Why, "why whys how_come"),
    (
        C::Aux,
        "did has have was is are does do am had_anyone has_anyone did_anyone didnt_we did_we isnt arent wasnt",
    ),
    (
        C::Tell,
        "could_you_please_tell_me could_you_kindly_tell_me would_you_mind_telling_me can_you_please_remind_me could_you_please_remind_me could_you_let_me_know can_you_let_me_know please_let_me_know please_tell_me please_remind_me id_like_to_know could_i_ask could_i_know may_i_know remind_us on_record on_file youve_got_on_record you_have_on_record need_the_date need_the_time i_need_the_date i_need_the_time give_me_the_date give_me_the_time does_the_order_say does_the_prescription_say does_the_sheet_say did_the_order_say remind_me_of_the whats_it_say what_does_it_say lemme_know tell_me_again could_you_check can_you_look_up look_up_the looking_for_the need_to_check_the can_you_give_me could_you_give_me can_u_give_me can_i_have could_i_have may_i_have can_we_have can_i_get_the could_i_get_the can_i_please_have tell_me can_you_tell_me remind_me can_you_remind_me could_you_tell_me could_you_remind_me let_me_know do_you_know can_you_check check_if can_you_say i_wonder wondering can_you_confirm pls_tell_me please_tell i_want_to_know i_need_to_know just_wondering can_i_ask may_i_ask can_you_please_tell_me tell_us would_you_tell_me i_forget im_wondering give_me_the what_was_the quick_question question do_we_know id_like_to_know any_idea confirm_the can_i_know can_i_see can_you_show_me could_you_say show_me_the check_the check can_u_tell_me can_u_remind_me could_u_tell_me",
    ),
    // Qualities.
    (
        C::Left,
        "available on_hand in_hand much_left left remaining remain remains still_in left_over to_go left_in remaning lft leftover",
    ),
    (
        C::Hold,
        "should_still_be should_still_have be_in_the should_be_left hold holds contain have_in should_be_in should_there_be should_the in_it in_there get_out_of get_from inside give_me should_be",
    ),
    (C::More, "more further another longer"),
    (
        C::Enough,
        "is_there_another_dose is_there_another_shot is_there_another_injection enough sufficient suffice",
    ),
    (
        C::RunOut,
        "last_the_whole last_the_course last_the_whole_course last_us last_me run_low run_low_on supplies_last supplies_will_last run_out runs_out running_out last_until_the_end last_until will_last run_short enough_to_last",
    ),
    (C::Size, "barrel_size size sized type kind volume"),
    (
        C::Total,
        "of_the_lot total in_total altogether overall all_together whole_course entire_course in_all",
    ),
    (
        C::Last,
        "last_needle last latest previous most_recent prior",
    ),
    (
        C::Next,
        "next_needle next upcoming following coming nxt whats_next",
    ),
    (
        C::Due,
        "is_he_meant_to is_she_meant_to am_i_meant_to are_we_meant_to meant_to_get meant_to_have due_to_inject due_to_give due_to_get due_to_have due_for due_his due_her due_its due_another am_i_due is_he_due is_she_due due supposed_to_get scheduled up_next need_his need_her need_it needs_his needs_her needs_it be_given get_another again",
    ),
    (
        C::Expire,
        "bin_date bin_by chuck_date toss_by_date expiry_date expiration_date throw_away_date use_by beyond_use_date use_by_date use_by_dates sell_by_date no_good_anymore no_good_any_more run_out_of_date runs_out_of_date go_out_of_date goes_out_of_date expire expires expired expiry expiration expiration_date go_bad goes_bad good_for good_until use_by_date best_before spoil spoils goes_off too_old discard_date expiring stay_good be_used_up must_be_used discard_by discard_time expire_date shelf_life keeps_for beyond_use is_good valid usable_until be_used_by go_off exp_date exp lasts good_till bud last_once toss_by toss_date throw_out_date no_longer_good stop_using keep_for good_to_use",
    ),
    (
        C::New,
        "new_one fresh_one another_vial another_bottle new fresh unopened_one brand_new newly",
    ),
    (
        C::Old,
        "old empty finished_one finished_vial used_up spent used previous_vial expired_vial emptied",
    ),
    (
        C::Open,
        "the_one_thats_open the_open_one the_one_in_use the_current_one the_one_in_the_fridge the_one_thats_in_the_fridge the_mixed_one the_made_up_one the_one_we_mixed the_one_i_mixed the_opened_one ive_got_going i_have_going got_going on_the_go ive_got_on_the_go how_late_are_you_open how_late_do_you_open until_what_time_are_you are_you_open is_anyone_in open opened current in_use opening opens opening_hours working_hours business_hours opening_times office_hours",
    ),
    (C::Closed, "close closes closed closing"),
    (
        C::Date,
        "bin_date bin_by chuck_date toss_by_date need_the_date i_need_the_date give_me_the_date date expiry expiration expiry_date expiration_date use_by use_by_date discard_date throw_away_date beyond_use_date throw_out_date toss_date",
    ),
    (C::Day, "day days"),
    (
        C::Week,
        "week weeks month months saturday sunday monday tuesday wednesday thursday friday weekend saturdays sundays weekends sat sun mon tue wed thu fri",
    ),
    (C::Minute, "minute minutes min mins minuets minut"),
    (C::Hour, "hour hours hr hrs"),
    (
        C::Each,
        "single a_single one_single apiece a_time per each each_time every a_shot per_shot every_time",
    ),
    (
        C::Daily,
        "every_day each_day daily a_day per_day everyday regular regularly",
    ),
    (
        C::Ml,
        "ml mls millilitre millilitres milliliter milliliters mil mils mili millis",
    ),
    (C::Number, "number num nr"),
    (
        C::Times,
        "two_times_a_day what_oclock at_what_oclock clock_times which_hours_of times_a_day_for times_each_day_for injection_times jab_times hours_of_the_day what_hours at_what_hours what_times at_what_times which_hours which_times schedule timetable times dose_times timing timings shot_times",
    ),
    (
        C::Use,
        "ive_got_going i_have_going got_going goes_with go_with meant_to_use supposed_to_use use_this use using",
    ),
    (
        C::End,
        "is_finished is_over are_finished are_over get_to_the_end finish_up wrap_up wraps_up final_jab final_shot final_injection final_dose very_last_jab very_last_shot very_last_injection very_last_dose when_is_the_last whens_the_last end ends finish finishes over end_date last_day final stop_date last_dose_ever finish_line finish_date ending final_day",
    ),
    (
        C::Part,
        "half part most some only partial a_bit a_little nearly_all almost_all portion rest bit little nearly almost_full half_of partially barely_any some_of most_of bolted three_quarters quarter_of less not_all not_the_whole didnt_get_it_all lost_some first_half third_of two_thirds missed_some remainder wasted",
    ),
    (
        C::Whole,
        "whole full entire complete all_of_it everything all",
    ),
    (
        C::About,
        "or_so give_or_take near_enough just_about thereabouts ballpark about like around roughly approx approximately maybe_about ish abt ~ circa",
    ),
    (C::Second, "second 2nd two_of"),
    // Whether.
    (
        C::Neg,
        "noo nno not didnt havent hasnt didn_t didt dint never wasnt couldnt wont cant cannot isnt no nobody no_one without dont doesnt unable wasnt_able werent_able unable_to not_able arent hadnt aint wouldnt nope havnt havn hasn couldn not_been shouldnt neither",
    ),
    (C::Yet, "yet so_far up_to_now"),
    (C::Still, "still"),
    (
        C::Future,
        "remind_me_when remind_me_once tell_me_when_its let_me_know_when_its will ill well_give shell gonna going_to about_to planning plan later soon in_a_bit in_a_minute in_a_sec shortly on_my_way remind getting_it_ready getting_ready waiting wait intend intending hold_on almost_time when_i_get when_i_am_back once_i_get once_i_am doing_it_now giving_it giving_him giving_her giving_now as_we_speak almost_gave nearly_gave tried_to try_to trying_to id_like_to_give tonight_i_will is_next in_a_moment when_im_back when_we_get be_given_at be_there_in then_i will_give well weve_got_to hell_get still_to_do to_be_given to_do before_i_give until_i_give when_he_gets when_she_gets aim_to aiming hoping_to hope_to theyll youll imma when_hubby finna when_i_m_back in_a_few snoo'ze preparing_to heading_home tomorrow_i i_ll tonight_ill let_me_give right_after_this",
    ),
    (
        C::Hedge,
        "think maybe probably believe might perhaps guess not_sure pretty_sure possibly unsure cant_remember dont_remember cant_recall dont_know i_suppose may_have could_have i_assume assume im_fairly_sure not_certain seem_to_remember a_while_ago earlier some_time_ago sometime a_few_hours_ago couple_hours_ago no_idea_if fairly_sure almost_sure kinda sort_of i_hope guessing supposedly apparently probs mightve",
    ),
    (
        C::If,
        "if whether suppose supposing assuming what_if say_i in_case hypothetically imagine unless lets_say what_happens what_would",
    ),
    (C::Can, "can could may allowed permitted able_to"),
    (
        C::Should,
        "do_i_still do_we_still will_it will_he will_she will_this should ought should_i should_we must_i shall_i shall_we do_i_need_to do_we_need_to do_i_have_to do_we_have_to shall",
    ),
    (
        C::Must,
        "need_to have_to must has_to needs_to gotta got_to hafta need supposed_to needs needed_to had_to",
    ),
    (
        C::Would,
        "would wouldve would_have shouldve should_have couldve i_wish wish id",
    ),
    (C::Want, "want feel_like wanna wants wanted id_like"),
    // Who.
    (C::I, "i we im ive weve me us id_ve my our were_done myself"),
    (
        C::Beast,
        "he she it him her his its hes shes himself herself hers_is they them pet dog cat puppy kitty kitten pup doggo baby_girl baby_boy boy girl the_dog the_cat my_dog my_cat our_dog our_cat my_boy my_girl good_boy good_girl fur_baby furbaby pupper bunny rabbit ferret horse lad old_man little_one little_guy big_guy buddy",
    ),
    (
        C::Person,
        "wife husband son daughter mom mum dad mother father sister brother hubby partner sitter pet_sitter dog_sitter cat_sitter neighbor neighbour grandma grandpa nan grandson granddaughter girlfriend boyfriend roommate friend flatmate kid fiance fiancee spouse babysitter aunt uncle cousin niece nephew dogsitter catsitter petsitter nanny granny gran mama papa housemate walker dog_walker stepson stepdaughter teenager eldest youngest oldest missus flat_mate mother_in_law father_in_law",
    ),
    (C::Somebody, "someone somebody anyone anybody"),
    // When.
    (
        C::Now,
        "atm at_the_moment at_present as_of_now currently_now now just just_now right_now this_minute this_moment this_second a_moment_ago a_minute_ago a_sec_ago moments_ago right_away a_second_ago just_this_minute literally_just seconds_ago a_few_minutes_ago few_minutes_ago couple_of_minutes_ago couple_minutes_ago straight_away",
    ),
    (C::Ago, "ago back_ago"),
    (
        C::Morning,
        "this_mornings_needle morning_needle morning_one breakfast_time breakfasttime morning mornings am_dose this_am am_shot am_injection breakfast_dose first_dose_of_the_day am_one mornin sunrise morning_dose mornign",
    ),
    (
        C::Evening,
        "arvo this_arvo evening_dose tonights_needle evening_needle evening_one pm_one dinner_time dinnertime suppertime supper_time evening tonight tonights evenings pm_dose this_evening night nights afternoon pm_shot pm_injection tonite nite dinner_dose nighttime eve nightly eveing bedtime evenin this_pm",
    ),
    (C::Today, "today todays this_day 2day tdy"),
    (
        C::Yesterday,
        "yesterday yesterdays last_night last_evening ystrday yest",
    ),
    (C::Tomorrow, "tomorrow tomorrows tmrw tmr tomorow tommorow"),
    (C::Am, "am a_m"),
    (C::Pm, "pm p_m"),
    (
        C::At,
        "at_noon at_midday noon midday quarter_past quarter_to quarter_after quarter_till quarter_past_the at @",
    ),
    (
        C::Half,
        "half_three half_four half_five half_six half_seven half_eight half_nine half_ten half_eleven half_twelve half_3 half_4 half_5 half_6 half_7 half_8 half_9 half_10 half_11 half_12 half_past",
    ),
    // Between.
    (
        C::And,
        "and but so then also plus while & though although after",
    ),
    (
        C::Because,
        "because cause cuz since bc as_he as_she due_to becuase coz cos on_account",
    ),
    (
        C::Yes,
        "yes yep yeah yup sure correct right ok_yes y yess yea indeed exactly affirmative that_is_right thats_right of_course absolutely ya si emojiyes",
    ),
    (
        C::No,
        "no nope nah not_really emojino negative wrong incorrect nop noo that_is_wrong",
    ),
    (
        C::Greet,
        "hi hello hey good_morning good_evening good_afternoon good_night howdy hiya hey_there hi_there hello_there greetings dear morning_all evening_all heya team guys folks",
    ),
    (
        C::Thanks,
        "thanks thx thank_you ty cheers thank tks thanx thank_u many_thanks much_appreciated appreciate_it thankyou",
    ),
    (
        C::Help,
        "what_sort_of_messages what_kind_of_messages show_me_how_this_bot_works show_me_how_this_works how_this_bot_works how_this_chat_works how_this_works what_is_it_you_can_do_for_me what_kinda_stuff_can_i_text what_kinda_stuff_can_i kinda_stuff_can_i what_is_it_you_can_do what_can_you_do_for_me you_can_do_for_me can_you_do_for_me what_kinda_stuff what_kind_of_stuff what_stuff_can_i what_sort_of_stuff what_all_can what_can_i_ask_you_about what_may_i_ask what_can_this_do what_does_this_do what_sort_of_things_do_i_type what_sort_of_things_can_i what_sort_of_things what_do_you_understand list_of_things_i_can list_of_things what_am_i_able_to_ask what_could_i_ask what_else_can_you_do what_else_can_i_ask what_things_can_i_ask what_stuff_can_i_ask how_does_this_chat_work how_does_this_bot_work how_does_the_bot_work how_does_this_chat how_do_i_talk_to_you what_words_do_you_understand what_can_you_tell_me what_are_you_able_to new_to_this new_here how_do_you_work_then show_me_what_you_can_do what_are_the_commands what_can_i_text what_can_i_text_you what_can_i_send what_can_i_write what_can_i_tell what_kind_of_things_can_i_ask what_kind_of_things what_do_you_know can_you_help can_you_help_me could_you_help could_you_help_me what_i_can_ask help instructions commands menu start what_can_you_do what_can_i_ask how_does_this_work how_do_i_use_this how_do_i_use_this_bot help_me_use_this options what_do_i_type what_can_i_say how_does_it_work what_questions what_kind_of_questions what_can_i_do how_do_i_tell_you how_do_i_use_you how_do_i_log how_do_i_record what_do_you_do what_can_u_do what_are_you_for what_can_i_type how_to_use_this how_do_i_work_this what_else_can what_can_you_help what_can_this_bot_do how_can_you_help what_can_you_answer what_can_i_ask_you what_should_i_type help_me_use list_of_commands what_are_my_options how_do_you_work how_to_use user_guide what_do_i_write what_can_this_do show_commands how_do_i_report",
    ),
    (
        C::Bot,
        "you_lot you_guys you u yourself bot app this_thing chat chatbot robot program",
    ),
    (
        C::Undo,
        "undo wrong_button scratch_that cancel_that take_that_back that_was_wrong i_made_a_mistake oops_wrong pressed_wrong delete_that disregard ignore_that never_mind correction wrong_one by_accident_pressed my_mistake ignore_my_last pressed_the_wrong tapped_the_wrong hit_the_wrong clicked_the_wrong strike_that take_it_back remove_that mistyped typo forget_that nevermind tapped_by_mistake pressed_by_mistake wasnt_right that_isnt_right thats_not_right that_was_a_mistake fix_that delete_my_last undo_that undo_last correct_that change_that revert misclicked",
    ),
    // Trouble.
    (
        C::Symptom,
        "unconsciousness responding respond responsive reacting react awake conscious consciousness passed_out blue purple hives gasp struggling breaths asphyxia seizures fainted anaphylaxis anaphylactic overdose overdosed distress respiratory convulsed epilepsy swole puffing welting urticaria ballooned keeled floppy limply twitches jerking paddling foaming frothing hemorrhage hemorrhaging heavily profusely pulse dying died choked suffocate labored laboured tounge tonge tongue throat gums muzzle snout lips breathe breathes breaths collapse collapses unconscious unresponsive faint faints choking choke gasping gasps welts convulsion convulsions convulsing seize seizing epileptic paralyzed suffocating lifeless swells vomited vomit vomiting vomits threw_up throwing_up throw_up throws_up thrown_up puked puke puking sick ill unwell nausea nauseous nauseated diarrhea diarrhoea runs the_runs loose_stool stool stools poop poops poo pee peed peeing pees urine urinating urinate limp limping limps lame wobbly wobble wobbling unsteady staggering stagger dizzy shaking shake_and_shaking shaky shivering shiver trembling tremble tremor tremors twitch twitching twitchy lethargic lethargy tired sleepy sleeping_a_lot exhausted weak weakness listless dull quiet_and depressed sad mopey hiding whining whimpering whimpered crying cried cries cry yelped yelp yelping screamed squealed scream screaming howled howling growling growled pain painful hurt hurts hurting sore soreness tender bump bumps lump lumps bruise bruised bruising swollen swelling swell swelled inflamed inflammation red redness rash itchy itching itch scratching scratches_himself licking_the licking bleeding bled bleed blood bloody pus discharge oozing_from abscess infection infected fever feverish temperature hot_to_touch feels_warm feels_hot feels_cold cold_to_touch ears_are_hot drooling drool drools salivating panting pant pants coughing cough coughs sneezing sneeze sneezed congested appetite not_eating wont_eat isnt_eating hasnt_eaten doesnt_eat didnt_eat stopped_eating off_her_food off_his_food off_food wont_drink not_drinking thirsty drinking_a_lot drinking_loads drinking_more weight_loss lost_weight gained_weight bloated bloating belly abdomen constipated constipation gums pale yellow_eyes jaundice eyes eye_is vision blind hair_loss losing_hair falling_out bald scab scabs sore_spot hard_spot hard_lump reaction reacting allergic weird_behavior acting_weird acting_strange acting_funny acting_off acting_odd isnt_himself isnt_herself not_himself not_herself seems_off looks_off is_off looks_ill looks_sick looks_bad looks_unwell looks_sad feels_off is_wrong_with something_wrong somethings_wrong worse worsening worried worry concerned worrying scared_for breathing breath heart_rate heartbeat pulse confused disoriented restless pacing agitated aggressive seizure seizures fits hives collapsed foam side_effects side_effect symptoms symptom accident_in_the_house incontinent stiff stiffness squinting gagging gag retching retch heaving regurgitated burping gassy stomach tummy nose_is bad_reaction unusual not_well unwell not_right not_good feel_good feeling_bad hasnt_pooped jaundiced dehydrated dehydration lumpy_skin scabby crusty losing_weight hobbling favoring favouring wont_move wont_walk wont_use wont_play not_playing scratchy quivering wincing flinched flinches withdrawn droopy glassy dying dead sleeps_all sleeps_a_lot sleeping_all sleeping_more wont_settle puffy knot nodule hive fur_loss spasm moaning groaning wailing screeching yowling yowled yelps screams woozy groggy drowsy drunk_looking stumbling stumbled falling fell fainting weepy watery mucus snot limpy tumor tumour growth lesion wound ulcer ulcerated ribs skinny thinner hunched twitched",
    ),
    (
        C::Judge,
        "the_latest_i the_latest_we the_latest_that the_latest_it latest_i_can latest_we_can the_earliest earliest_i_can the_soonest right_amount correct_amount keep_it save_it keep_the_rest use_the_rest give_more give_extra give_less sure_it_went_in the_missed_dose a_missed_dose the_missed_shot a_missed_shot the_missed_injection a_missed_injection the_missed_one is_it_ok is_it_okay is_that_ok is_that_okay is_it_safe is_it_fine is_that_fine is_it_bad is_that_bad ok_to okay_to safe_to fine_to safe is_this_ok is_this_okay is_this_normal is_it_normal is_that_normal normal dangerous danger harmful harm bad_to does_it_matter matter still_good still_ok still_usable use_it what_should_i_do what_do_i_do what_should_we_do what_do_we_do what_now now_what advice advise recommend recommendation suggest your_opinion do_you_think would_you better_to or_wait or_should is_it_working does_it_work does_this_work really_work work_yet starts_working start_working kick_in effect effective cured cure heal healed better get_better feel_better be_better all_better why_is why_does why_do what_is_this_for prognosis survive allowed_to is_it_too_late too_late too_early too_soon early late_is_ok is_ok is_okay is_fine wrong_to any_problem problem_if a_problem is_it_alright alright_to all_right_to is_it_possible is_it_necessary necessary still_give am_i_supposed need_to_worry how_come will_she is_there_a_way would_it would_that does_it_need good_enough works working concerns concern maximum max at_most minimum how_late how_early how_soon after_missing if_i_miss if_i_missed if_we_miss late_dose the_right_dose correct_dose correct_technique weigh weighs weight kg kilos kilo lbs pounds lb heavier lighter gained wait_or wait_until do_i_give_it_if anyway contraindicated interaction interact interactions expired_one risk risky worth it_ok it_okay fine_if matters bother ok_if okay_if thats_ok still_use how_bad good_idea bad_idea",
    ),
    (
        C::WrongDose,
        "each_of_them each_our_own one_each two_times and_so_did_i and_so_did_he and_so_did_she and_so_did_my and_so_did_we and_so_did_the so_did_i so_did_he so_did_she so_did_my so_did_we so_did_the both_of_us the_two_of_us two_of_us each_of_us me_too twice double doubled doubling two_doses both_gave we_both triple tripled too_much too_many extra_dose extra_shot second_dose_by overdose overdosed 2x second_shot second_time wrong_dog wrong_cat wrong_pet wrong_animal wrong_dose wrong_amount wrong_spot wrong_place wrong_vial wrong_bottle by_mistake by_accident accidentally accidental mistake mistakenly error oops_i already_gave_it_and two_shots 2_doses 2_shots two_injections extra also_gave gave_also and_another again_by both_doses gave_both both wrong_syringe wrong_needle wrong_way wrong_side wrong_day wrong_time wrong_medicine wrong_one_gave wrongly mixup mix_up_the upside swapped by_mouth orally oral mouth into_muscle in_the_muscle intramuscular into_the_muscle in_the_vein vein intravenous injected_air messed_up screwed_up botched three_doses x2 times_two topped_up too_little wrong wronged mixed_together together a_second_one too one_too",
    ),
    (
        C::Change,
        "hour_late hours_late hr_late hrs_late hour_early hours_early done_with_this im_done_with_it not_giving thinking_about thinking_of change changed changes changing lower raise increase increased decrease decreased reduce reduced reducing stop stopping quit discontinue give_up gave_up pause postpone delay delayed move_the reschedule shift ski'p ski'pping ski'p_tonight switch switching swap adjust less_often once_a_day instead other_than different another_time earlier_dose earlier_than early_dose later_than taper extend extended holiday vacation cut_the cut_down split half_a half_dose more_often spread_out bring_forward push_back push_it put_off rather_than stop_early stop_giving no_more_shots dont_want_to dont_want refuse_to given_up want_to_stop break hours_apart apart shorten weaker stronger diluted higher vet_said vet_told doctor_said doctor_told you_said you_told told_me_to said_to told_us_to said_i_could said_we_could said_i_can said_it_was_ok vet_says vet_changed she_said_to he_said_to dr_said clinic_said clinic_told nurse_said internet_says i_read read_online i_heard google googled",
    ),
    (
        C::OtherDrug,
        "tablet tablets pil pils pil'l pil'ls antibiotic antibiotics painkiller painkillers pain_med pain_meds pain_stuff wormer worming dewormer deworming worming_tablet flea fleas tick ticks flea_drops drops eye_drops ear_drops insulin prednisone prednisolone steroid steroids benadryl antihistamine metacam meloxicam amoxicillin gabapentin tramadol aspirin ibuprofen paracetamol tylenol vitamin vitamins supplement supplements probiotic probiotics vaccine vaccines vaccination rabies booster cream ointment lotion shampoo capsule capsules liquid_medicine syrup paste spray thyroid heart_meds heart_medicine other_medicine other_medication other_meds other_drug other_med another_medicine different_medicine different_shot cbd collar antacid omeprazole famotidine cerenia apoquel cytopoint librela rimadyl carprofen frontline bravecto nexgard simparica heartworm food kibble dinner_for breakfast_for treats snack meal meals eat feed fed feeding eaten ate ear_cleaner inhaler nebulizer sedative sedation anesthesia valium xanax melatonin furosemide lasix pimobendan vetmedin doxycycline clavamox cephalexin metronidazole allergy_shot allergy_shots chemo chemotherapy painkilling antiinflammatory anti_inflammatory nsaid nsaids opioid drip fluids subq_fluids iv_fluids b12 milk bath groom chicken tuna treat_instead herbal homeopathic remedy oil hug walk_for vax vaxx rx_food saline_drops",
    ),
    (
        C::OtherAnimal,
        "other_dog other_cat other_pet other_animal another_dog another_cat another_pet second_dog second_cat neighbors_dog neighbours_dog neighbors_cat neighbours_cat neighbor_dog neighbor_cat both_dogs both_cats my_horse a_horse for_a_dog for_a_cat a_dog a_cat a_kitten a_puppy other_one for_both friends_dog friends_cat stray the_other her_brother his_brother her_sister his_sister his_mate sibling littermate kg_dog kg_cat lb_dog lb_cat dogs cats kittens puppies parents_dog moms_cat moms_dog sisters_cat sisters_dog housemates_cat different_dog different_cat different_animal the_puppy_too the_kitten_too",
    ),
    (
        C::Human,
        "got_bit got_bitten bit_me bitten_me nipped_me scratched_me clawed_me got_nipped got_scratched got_clawed pricked_myself jabbed_myself stabbed_myself poked_myself stuck_myself myself_with poked_myself pricked_myself stuck_myself stabbed_myself jabbed_myself injected_myself needlestick needle_stick my_finger my_thumb my_hand my_arm my_eye my_eyes my_skin my_leg my_face my_mouth my_palm bit_me bites_me bitten bite bites biting bit_my nipped scratched_me scratched_my scratched pregnant pregnancy breastfeeding breast_feeding toddler baby child children kids_touched my_kid kid_touched finger thumb poked_me pricked_me stuck_me scratched_us stabbed pricked pricked_my poked_my stuck_my splashed_me in_my_eye on_my on_myself to_myself human_use for_humans for_people for_me can_humans myself_in i_drank i_swallowed swallowed ingested clawed grandchild grandkid gloves wear_gloves stab",
    ),
    (
        C::Quality,
        "still_powder powder_left leaked leaked_out spilled spilt dripped squirted_out sprayed_out oozed splashed leakage cloudy murky discolored discoloured color colour yellow yellowish yellowed brown pink particles particle bits floating floaters specks flakes clumps clumpy lumpy lump_in chunks chunky crystals crystal foam foamy bubbly bubbles bubble froze frozen freeze freezing freezer thawed cracked crack broke broken break_the smashed shattered dropped drop_the fell_on damaged leaking leaks chipped heat heated sun sunlight sunny car warm warmed warming hot microwave left_it_on left_on counter table bench windowsill overnight_on overnight left_overnight all_night all_day out_all room_temp room_temperature stay_out be_out stored storage store power_cut power_outage_fridge fridge_broke fridge_was_off fridge_died fridge_stopped unplugged smells smell odd_smell weird strange funny_looking looks_weird looks_strange looks_off looks_funny dirty contaminated contamination touched expired past_its past_the_date out_of_date rinse rinsed reuse reused reusing re_use same_needle same_syringe wiped wash washed wipe boiled sterilize sterilise lost_the lost_a cant_find lost missing_vial missing_syringe stolen chewed licked ate_the bent blunt stuck jammed clogged cap plunger rubber stopper seal label tap_water bottled_water saline salt_water mineral_water distilled wrong_water spring_water boiled_water plain_water tapwater salt shake shaken shook swirl prefill preload pre_fill ahead_of_time in_advance plane flight airport travel_with suitcase cooler_bag ice_pack wont_dissolve not_dissolving doesnt_dissolve not_dissolved undissolved combine combined pool_the use_the_old use_old use_expired oily sticky gel gelled jelly thick dark darker separated sediment residue debris hair_in dust fuzzy mold mould lint leak cracks split_open melted spoiled sun_on door_open left_in_the_car in_the_car mixed_up_vials knocked knocked_over top_up same_spot same_place same_side",
    ),
    (
        C::Units,
        "units unit iu cc ccs mg milligram milligrams mcg teaspoon teaspoons tsp tablespoon tablespoons spoon spoons drops_is lines line mark marks_on tick_marks tick_mark notch notches ounces ounce oz cup graduations graduation u100 syringe_lines gram grams notched teaspoonful dropper dropperful cubic",
    ),
    (
        C::Visit,
        "appointment appointments appt book booking checkup check_up recheck follow_up followup visit come_in bring_him bring_her bring_it walk_in see_the_vet see_a_vet see_the_doctor refund cost costs price prices pay bill invoice expensive money charge insurance send send_me order ordered reorder re_order refil refil'l refils refil'ls restock ship deliver delivery pick_up pickup buy buying purchase get_more need_more more_needles_please more_please out_of_vials out_of_needles out_of_syringes no_more_needles no_more_vials no_more_syringes ran_out ran_out_of were_out were_out_of are_out_of am_out_of used_the_last down_to_the_last last_needle last_vial short_on running_low low_on i_need_a i_need_more wheres_my mail post_me postage package parcel collect sell where_can_i_get we_need_more another_vial_please extra_vials spare_vials_please x_ray xray surgery bloodwork blood_test blood_tests lab results test_results groomer_this euthanize euthanasia put_down put_to_sleep put_him_down put_her_down",
    ),
    (
        C::Jailbreak,
        "ignore ignore_all ignore_previous previous_instructions pretend act_as roleplay role_play you_are_now you_are_a system_prompt prompt jailbreak developer_mode dan forget_everything forget_your forget_all forget_the_rules override bypass prescribe prescription_for as_a_vet as_a_veterinarian as_a_doctor as_if_you as_an_expert just_between_us hypothetical_vet be_my_vet play_a_vet imagine_you if_you_were diagnose diagnosis your_rules your_instructions rules disregard_your disregard_all disregard_previous unlock no_restrictions secret password admin debug sudo simulate unfiltered fictional off_the_record",
    ),
    (
        C::Meal,
        "dinner breakfast lunch supper after_dinner after_lunch brunch dinnertime",
    ),
    (
        C::Aside,
        "watching watched tv_on kitchen bathroom bedroom hallway porch balcony garage garden yard park lap crate carrier basket cage cushion pillow chair stairs upstairs downstairs house apartment flat hotel cabin campsite beach lake gym church mosque class lesson lecture exam homework college university shop shopping grocery groceries market restaurant cinema concert match yoga commute station interview boss colleague coworker client customer landlord plumber electrician birthday anniversary christmas easter thanksgiving picnic barbecue bbq wine beer coffee series episode laundry dishes cooking cleaning vacuum hoover shower haircut rainy windy snowing thunder thunderstorm fireworks noise doorbell guest family relatives grandparents in_laws twins grandkids packed packing luggage trip journey lovely wonderful amazing awesome fantastic brilliant proud relieved grateful blessed glad pleased lucky routine habit after_work ran climbed sleeping_on napping nap curled snuggled snuggling toy toys squirrel went_back_to_sleep back_to_sleep went_to_sleep neighbourhood neighborhood street corner lights_on movie_night bookclub rehearsal",
    ),
    (
        C::Loose,
        "take large big small happen happens record_time sitting sits total_of tally_up keep keeping try grab know ask something thing things else hope hopefully minus plus_ any before until till without_any unfortunately afraid started came come went marked same_time or exact hand otherwise something while_he_slept third first last_thing or_not any late little_late bit_late still_there recently immediately afterwards afterward be being box drawer shelf via them thing managed away_from",
    ),
    // Harmless.
    (
        C::Filler,
        "slept_through_it slept_right_through_it i_mean i_meant_to_say swirled to_the_light up_to_the_light against_the_light stuck_at_the stuck_in_the stuck_on_the stuck_at stuck_in_a never_rang didnt_ring alarm_never_rang as_i_look_at_it as_i_look ish_left or_so or_thereabouts give_or_take swirled_gently looking_like had_a_clear_out having_a_clear_out clear_out barely_flinched hardly_flinched never_flinched without_flinching no_flinch didnt_even_wince barely_moved hardly_moved didnt_even_stir never_stirred slept_on like_an_eel wriggled squirmed wriggly squirmy wiggled fidgeted right_then folks_hi then_labelled labelled labelled_it straight_into_the_fridge straight_in_the_fridge straight_back_in and_everything bless bless_him bless_her bless_them mate love_him dear_me crikey blimey gosh whoa hooray hurray woohoo woo yippee cheers_then job_done sorted_then fyi btw heads_up update quick_update small_update just_so_you_know just_fyi for_the_record for_your_records for_your_info just_letting_you_know letting_you_know thought_id_tell_you thought_id_let_you_know writing_to_say just_to_say wanted_to_say popping_in no_probs thank_goodness thank_god at_last eventually in_the_end in_one_go first_try first_go first_attempt one_go second_try took_two_of_us took_the_two_of_us took_both_of_us took_a_while took_some_doing took_me_a_while took_ages tonight_too start_to_finish as_usual as_normal as_always as_planned as_ordered as_prescribed as_scheduled as_instructed like_always like_usual like_normal same_as_always same_as_usual the_usual usual usual_time the_usual_time on_time right_on_time bang_on_time dead_on_time been w after_all reply for_the_late_reply late_reply replying didnt_even_flinch didnt_flinch didnt_mind doesnt_mind didnt_fuss didnt_budge didnt_cry didnt_even_cry didnt_complain didnt_squirm didnt_even_blink didnt_make_a_sound no_tears no_drama all_well too_stressed too_tired too_busy too_scared too_upset held held_him held_her held_it holding_him holding_her luckily honestly basically obviously anyway_done completely totally currently this_time together_with herself_fine quiet_night all_quiet calm calmly_done patient_today distracted cuddles cuddle blanket towel burrito wrapped helper assistant report reporting hurry rush rushed forgetful silly me_again same_here sure_thing roger copy noted_thanks as_promised confirmed confirming checking_in check_in hello_again hiya_all morning_everyone threw away after_his_walk after_her_walk while_he_ate while_she_ate while_he_was_eating while_she_was_eating while_eating during_his_meal slept_through_the_whole_thing whole_thing slept_through_the_whole slept_right_through under_the_skin subcutaneously subcutaneous subq sub_q bang_on on_the_dot spot_on find asking go_ahead some_time_today r manage answer answers questions the a an to of in on for with this that these those there here it_s thats theres and_so please pls plz kindly ok okay k alright um uh er well_so so_yeah lol haha hehe oh ah hmm hm wow yay phew finally already quickly easy easily no_problem no_problems no_fuss no_issues no_issue no_trouble without_fuss without_problems all_good went_smoothly smoothly fine good great nice perfect well_done champ like_a_champ brave nicely calmly quietly no_complaints didnt_even_notice didnt_notice never_noticed didnt_feel_a_thing without_a_fuss not_a_peep sorry for_the_delay fyi btw by_the_way update just_so_you_know jsyk heads_up letting_you_know to_let_you_know wanted_to_say tell_you your exactly sharp on_time right_on_time as_planned as_usual usual today_s period comma full_stop new_line got_home got_back home from_work work came_back back_home traffic late_from_work thank_god  as_scheduled time o_clock oclock hrs_time from into onto by up too_sorry also_thanks really actually very much_thanks today_is minutes_late late_sorry a_few few couple ready right_after stomach_full total_of mark_it log_it log record put_it_down mark note noted noting please_note record_that i_said as_i_said tho x xx xxx xo regards best love ive_ just_to_say hereby this_is its_me it_is_me it_me here_is am_i it_was was_at were have_a_nice_day period_at usually easy_peasy like_always always no_drama drama_free purring tail_wagging wagging happy happily slept_through_it while_she_slept wiggly squirmy squirmed wriggled wriggly cooperative sweetheart angel star superstar trooper no_probs treat_after treat_afterwards with_a_treat got_a_treat treat_for_being mission_accomplished success successfully successful woohoo hooray woo yippee hurrah in_the in_his_scruff scruff on_schedule that_is sent which_is which_was today_at mine ours theirs yours over_here again_thanks hey_so dang damn gosh omg whoa huh eh anyways anyhow myself_just there_s same_as_always hope_all_is_well hope_youre_well quick very_quick hope_this_works ps got_in got_up woke_up sat_down cup_of_tea as_always as_ordered as_prescribed per_plan as_directed per_the_plan plan_is kit_is dose_of thru through we_re whenever wherever everyone folks_here bottle_number number_one number_two number_three using_it my_phone_died forgot_to_tell_you forgot_to_log forgot_to_log_it forgot_to_say forgot_to_report forgot_to_mention forgot_to_write didnt_log_it havent_logged sorry_i_forgot_to_tell no_worries ll ve re",
    ),
    // Reasons and circumstances that say nothing about the animal's health.
    (
        C::Filler,
        "power_cut_at_home power_cut_here power_was_out power_outage power_out blackout outage power couldnt_see_a_thing couldnt_see_anything couldnt_see dark_outside alarm alarm_didnt_go_off busy meeting stuck_in_traffic stuck_at_work traffic_jam train bus flight_delayed plane_delayed airport_delay school football practice_ran soccer kids kids_were guests party wedding funeral visitors chaos hectic shift night_shift long_day crazy_day rain storm snow hid hides hid_under under_the_bed bed sofa couch ran_off ran_away ran_outside jumped_off escaped wouldnt_sit_still wouldnt_hold_still wouldnt_stay_still too_wiggly asleep fell_asleep was_sleeping slept_in out_of_town away at_the_groomer groomer groomers daycare kennel boarding gave_up_trying we_overslept was_out_late got_home_late came_home_late got_back_late late_home working_late worked_late working_overtime overtime car_broke_down flat_tire flat_tyre forgot_my_keys keys locked_out locked door wifi internet phone_dead battery_died no_signal outside_playing neighbours_house at_my_moms at_my_mums mums_house in_the_hospital_with doctor_appointment_for dentist movie after_breakfast before_breakfast at_breakfast before_dinner at_dinner after_supper before_bed before_lunch during_dinner during_breakfast evening_news tv news clock daylight_saving clocks_changed time_change time_zone_change living_room apologies apology bad_day because_of",
    ),
    // Words near to ours that must not be corrected into them.
    (
        C::Other,
        "everywhere heart stopped rolled wake waking awakened floor ground emergency balloon uncontrollably violently lights face live lives love loved line_up move moved moving give_a_damn dive drive drove bone gone tone zone cone phone_a bottom battle bottled vital trial dial vinyl viral note dote rose nose pose close_to dose_off doves shut shout short shoot shirt hot_dog spot shop show_off slot sport jar job jog tab jam fried friend bridge ridge mixer fixed nixed fix max_out wax tax water_bowl waiter later_on matter_of better_than letter latter butter bitter batter test tests text rest best_way nest vest west east dust mist list fist gist wrist tired_of fired hired wired tried cried_out dried fried_egg lied died_out tied bin_laden sin win fin kin gave_birth wave save saved cave rave pave grave brave_face crave slave shave give_way needed needy weeded seeded noodles needless spring syringa string stringer schemes schedule_a_visit sterile_wipes vetted bet bets jet get_lost let_go net pet_food set wet yet_another met debt next_door text_me exit sent_to spent dented rented bought brought_up fought caught taught thought through_it though_it tough rough cough_up laugh cost_a coast roast toast boast most_of_us ghost host post lost_it last_year cast fast past mast vast blast laser list_of late_fee rate_it date_night hate mate fate gate crate state plate skate slate day_care bay say way_to pay may_be ray lay hay gay joke joker weather pizza song taxi game capital france wall window hate_this kill stupid useless suck idiot dumb shut_up hell horrible awful annoying crap shit fuck fucking wtf robot_are grow grown crown throne thrown_up_in throat thread threat treat_him trust truth tooth teeth tree free freed fear hear near_miss year bear dear_god wear tear pear",
    ),
];
