//! Words of everyday life that say nothing of a treatment: the bus, the sofa,
//! the match. Beside a record they make it be read back; a clause of nothing
//! else beside a question is passed over. Nobody's slip is mended into one of
//! them, and what may be a sign, a food, a drug, an animal or a person's body
//! is none of them.

use super::concept::C;

pub(super) const ENGLISH: &[(C, &str)] = &[
    // Coming, going, being late.
    (
        C::Aside,
        "legged dashed raced rushed_home ran_home drove_home walked_home cycled queue queued queuing platform metro subway tram uber motorway highway roadworks road lane junction roundabout parked parking garage_door lift elevator ferry airport flight boarding gate_closed passport delayed_again cancelled late_again held_up got_stuck got_caught_up missed_the_bus missed_my_bus missed_the_train missed_my_train missed_my_stop school_run pick_up_the_kids picked_up_the_kids dropped_off_the_kids commuting commuted overtime_again double_shift late_shift early_shift day_shift rota roster payday office_party meeting_ran_over zoom_call conference_call deadline spreadsheet laptop printer keyboard screen charger_cable sim_card",
    ),
    // At home.
    (
        C::Aside,
        "sofa_cushion armchair rug carpet curtain curtains wardrobe closet cupboard_door drawer_of candle candles lamp torch flashlight lightbulb bulb fuse socket plug hoovering vacuuming dusting ironing tidying tidied unpacked unpacking decorating painting_the shelves bookshelf bookcase mirror attic basement cellar loft shed lawn mowing hedge driveway gate fence mailbox postman parcel delivery_man courier neighbours_party landlady rent mortgage bills electrics dishwasher saucepan frying_pan mug plate_of fork spoonful_of_sugar napkin tablecloth candlelight dressing_gown pyjamas pajamas slippers socks jumper sweater coat jacket scarf gloves_on hat boots wellies umbrella raincoat purse_strings diary calendar_on sticky_note post_it sticker notebook journal whiteboard chalkboard pen pencil biro felt_tip highlighter paper leaflet sheet_of_paper handwriting scribble scribbled writing write wrote",
    ),
    // People and their days.
    (
        C::Aside,
        "kids_birthday nursery kindergarten playdate homeschool detention parents_evening sports_day school_play recital choir band practice_session rehearsals orchestra guitar piano drums violin singing song sang danced dancing dance disco karaoke quiz_night pub bar_night club clubbing hangover_free hen_do stag_do reception_party graduation prom retirement anniversary_dinner housewarming baby_shower baptism christening bar_mitzvah eid diwali ramadan hanukkah new_year new_years halloween bonfire_night valentines mothers_day fathers_day bank_holiday half_term season cup_final world_cup league goal goals penalty referee football_match rugby cricket tennis golf hockey basketball baseball swimming swam gymnastics yoga_class pilates jogging marathon half_marathon hike hiking hiked camping tent caravan campfire fishing boat kayak surfing skiing museum gallery exhibition theatre theater musical opera circus zoo funfair playground bowling arcade casino bingo lottery raffle jigsaw puzzle chess cards_night board_game video_game xbox playstation netflix youtube podcast radio playlist headphones newspaper magazine novel book_club bookshop library",
    ),
    // What people say of it.
    (
        C::Aside,
        "piece_of_cake easy_peasy smooth smoothly like_clockwork clockwork like_a_pro pro like_a_champ champ champion trooper superstar legend hero angel little_angel like_an_angel good_as_gold as_good_as_gold like_a_dream dream_patient star_patient no_worries no_bother no_hassle not_a_peep not_a_sound not_a_squeak not_a_murmur not_a_flinch without_a_fight without_a_struggle without_a_murmur without_a_sound hardly_noticed barely_noticed never_noticed didnt_even_notice didnt_notice didnt_move didnt_even_move didnt_wake_up sat_still sat_nicely stood_still stayed_still lay_still held_still good_natured patient_as_ever in_a_good_mood in_great_form bribed bribery persuaded coaxed wrestled wrangled cornered chased caught_him caught_her caught_up_with tracked_down hunted_down hunted found_him found_her lured fetched scooped bundled swaddled snoring snored dozing dozed sunbathing lounging purring purred wagging wagged tail_wagging zoomies",
    ),
    // Days and weather.
    (
        C::Aside,
        "bucks dollars dollar quid euros euro fiver tenner sunshine drizzle drizzling foggy fog icy_roads blizzard hail heatwave humid breeze muddy mud puddles rainbow sunset dusk dawn midday_news forecast gale gusty lightning_outside",
    ),
    // Asking for a thing that is written down.
    (
        C::Filler,
        "cant_read_my_own_writing cant_read_my_writing cant_read_my_own_handwriting cant_read_the_label_i cant_find_the_paper cant_find_the_leaflet cant_find_the_sheet cant_find_my_notes cant_remember_what_you_said on_the_order on_the_prescription on_the_sheet on_the_leaflet on_paper in_your_records on_your_records your_records according_to_your_records according_to_you according_to_the_plan according_to_the_order according_to_the_books by_your_count by_your_records by_your_reckoning on_your_side at_your_end going_by_your_records down_as recorded noted registered so_i_can_write_it_down to_write_on_the to_write_it_down to_put_on_the_calendar for_the_calendar for_my_diary for_the_diary for_my_calendar",
    ),
];

pub(super) const SPANISH: &[(C, &str)] = &[
    // Coming, going, being late.
    (
        C::Aside,
        "laburo pega_laboral curro chamba jale_laboral micro bondi colectivo camion_que autobus_que bus metrobus combi taxi_que uber tren anden parada estacion peaje carretera autopista ruta semaforo embotellamiento atasco trancon taco_en trafico_horrible estacionamiento estacione aparcar aparque bici bicicleta moto_nueva patineta ascensor elevador vuelo aeropuerto_lleno pasaporte equipaje demorado demorada retrasado retrasada cancelado perdi_el_bus perdi_el_tren perdi_el_micro perdi_el_camion se_me_fue_el_bus se_me_hizo_tarde se_nos_hizo_tarde llegue_corriendo corriendo recoger_a_los_ninos buscar_a_los_ninos horas_extra guardia turno_doble turno_nocturno oficina_hasta junta_larga videollamada reunion_eterna computadora ordenador portatil impresora pantalla cargador",
    ),
    // At home.
    (
        C::Aside,
        "sillon sillones alfombra cortina cortinas ropero closet armario estante repisa escritorio lampara linterna foco bombilla bombillo enchufe aspiradora barrer barriendo trapear fregar planchar planchando ordenando desempacando empacando pintando espejo atico sotano bodega terraza azotea cochera_abierta reja puerta portero cartero vecindario alquiler renta hipoteca lavaplatos sarten olla taza_de mantel servilleta pijama pantuflas chanclas calcetines medias sueter chamarra campera chaqueta abrigo bufanda gorro botas paraguas impermeable agenda calendario_de_la papelito hojita papel post_it cuaderno libreta pizarra pizarron lapiz boligrafo birome lapicero marcador letra escribiendo apuntado apuntarlo apuntarla anotarlo anotarla",
    ),
    // People and their days.
    (
        C::Aside,
        "jardin_de_infantes preescolar kinder cole guarde universidad_hoy parcial tesis graduacion posada quinceanera bautizo bautismo comunion aniversario despedida jubilacion mudandonos piñata villancicos reyes nochebuena nochevieja carnaval semana_santa fiestas_patrias puente feriado vacacion futbol gol goles arbitro clasico partidazo mundial liga basquet basquetbol beisbol tenis natacion piscina pileta yoga pilates correr_la maraton caminata excursion campamento acampar carpa pesca lancha esquiar museo galeria exposicion teatro opera circo zoologico feria parque_de boliche casino bingo loteria rifa rompecabezas ajedrez videojuegos podcast radio periodico diario_de revista libro biblioteca libreria guitarra piano bateria violin cantando cantar bailando bailar baile karaoke",
    ),
    // What people say of it.
    (
        C::Aside,
        "pan_comido como_si_nada sin_chistar sin_pestanear sin_protestar sin_rechistar sin_moverse sin_despertarse sin_resistirse ni_chisto ni_pestaneo ni_protesto ni_se_movio ni_se_desperto ni_pio ni_un_pio ni_parpadeo ni_se_quejo no_se_quejo no_se_movio no_se_desperto no_se_dio_cuenta se_quedo_quieto se_quedo_quieta quietito quietita bien_portado bien_portada se_porto_como un_angel angelito un_amor un_santo santito una_santa crack maquina fenomeno titan heroe heroina capo capa_total un_sol me_costo costo_atraparlo atrapado atrapada agarrado agarrada sujetando sujetado sujeto_entre sosteniendo sosteniendolo sosteniendola ronroneando ronroneo moviendo_la_cola roncando acostado acostada echado_en acurrucadito acurrucadita tomando_el_sol no_te_preocupes no_se_preocupen no_se_preocupe quedese_tranquila quedense_tranquilos",
    ),
    // Days and weather.
    (
        C::Aside,
        "dolares dolar euros lucas mangos sol_de_hoy llovizna lloviendo llovio neblina niebla helada nevando nevada granizo ventoso viento brisa charcos lodo barro arcoiris atardecer amanecer relampagos truenos_fuera",
    ),
    // Asking for a thing that is written down.
    (
        C::Filler,
        "no_encuentro_la_hoja no_encuentro_el_papel no_encuentro_el_papelito no_encuentro_la_hojita no_encuentro_mis_notas no_encuentro_la_receta perdi_el_papel perdi_la_hoja perdi_el_papelito no_tengo_la_hoja no_tengo_el_papel no_entiendo_mi_letra no_me_acuerdo_cuanto segun_tus_cuentas segun_tus_registros segun_lo_anotado segun_lo_registrado segun_el_plan segun_la_orden segun_el_calendario segun_usted segun_ustedes segun_tus_notas en_tu_registro en_tus_registros en_el_registro en_la_orden en_la_receta en_el_plan del_plan del_registro para_el_calendario para_la_agenda para_anotarlo_en para_apuntarlo_en para_ponerlo_en_la_agenda indicaron indicada indicado recetada recetado",
    ),
];
