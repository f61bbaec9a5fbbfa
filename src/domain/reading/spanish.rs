//! The Spanish words the reader knows, of several countries, without accents.
//! Words of one table row stand for the same thing; `_` joins the words of a
//! phrase, the longest phrase wins.

use super::concept::C;

pub(super) const WORDS: &[(C, &str)] = &[
    // Doses.
    (
        C::Gave,
        "le_metimos_la le_clave_la le_plante_la le_acabo_de_poner acabo_de_ponerle_la termine_de_inyectar termine_de_aplicar termine_de_pincharla termine_de_pincharlo le_hice_su pinchao pinche_al pinche_a inyectamos_a ya_la_pinche ya_lo_pinche le_entro_toda le_entro_completa entro_toda entro_completa entro_todo entro_completo acabo_de_pincharle acabo_de_inyectarle acabo_de_aplicarla puse pusimos puso pusieron pusiste di dimos dio dieron inyecte inyectamos inyecto inyectaron aplique aplicamos aplico aplicaron pinche pinchamos pincho pincharon administre administramos administro administraron coloque colocamos coloco colocaron meti metimos metio he_puesto hemos_puesto ha_puesto han_puesto he_dado hemos_dado ha_dado han_dado he_inyectado hemos_inyectado ha_inyectado han_inyectado he_pinchado hemos_pinchado he_aplicado hemos_aplicado acabo_de_ponerle acabo_de_ponersela acabo_de_inyectarlo acabo_de_inyectarla acabo_de_inyectar acabo_de_darle acabo_de_darsela acabo_de_pincharlo acabo_de_pincharla acabo_de_poner acabo_de_aplicar acabo_de_aplicarle acabo_de_aplicarsela acabo_de_administrar acabo_de_dar acabamos_de_ponersela acabamos_de_ponerle acabamos_de_darle acabamos_de_darsela acabamos_de_inyectar acabamos_de_inyectarlo acabamos_de_inyectarla acabamos_de_pincharlo acabamos_de_pincharla acaba_de_ponersela acaba_de_ponerle acaba_de_darle acaba_de_darsela le_hice_la_inyeccion hice_la_inyeccion termine_de_ponerle termine_de_ponersela cumpli_con_la picamos pique suministre suministramos suministro puce hemos_administrado he_administrado he_colocado hemos_colocado ya_le_clave clave_la_inyeccion acabo_de_pinchar",
    ),
    (
        C::GavePart,
        "como_puesta como_dada como_aplicada como_inyectada quedo_inyectada quedo_inyectado quedo_pinchada quedo_pinchado quedo_aplicada quedo_puesto pinchadito pinchadita inyectadita inyectadito entro ya_tiene_su tiene_la_suya la_suya_puesta le_toco puesta puestos puestas puesto dada dadas dado dados aplicada aplicado aplicadas inyectada inyectado inyectadas pinchado pinchada administrada administrado administradas colocada colocado suministrada se_dio se_puso se_administro se_aplico se_inyecto se_le_dio se_le_puso se_le_administro se_le_aplico se_le_inyecto se_le_coloco quedo_puesta",
    ),
    (
        C::Give,
        "recibir meter meterle metersela meterla poner ponerle ponersela ponerselo ponerla ponerlo dar darle darsela darla inyectar inyectarle inyectarlo inyectarla inyectarsela aplicar aplicarle aplicarsela aplicarla pinchar pincharlo pincharla pincharle administrar administrarle administrarsela pongo ponemos pone ponen doy damos inyectamos_cada inyecto_cada aplico_cada pongamos ponga ponle dale darsele inyecta inyectan aplica aplican toca_ponerle poniendo poniendosela dando inyectando aplicando colocar colocarle suministrar ponersele picar inyectarme_lo pinchamos_cada ponen_las se_pone se_ponen se_da se_dan inyecto_la pincha",
    ),
    (
        C::Done,
        "ya_quedo hice hicimos hizo listo lista listos hecho hecha hechas terminado terminada completado completada cumplido cumplida realizada ok_listo listas lista_la ya_esta ya_estuvo",
    ),
    (
        C::Got,
        "hay_registro consta figura tienes_anotada tenes_anotada tenes_registrada tienes_registrada quedo_anotada quedo_registrada figura_anotada esta_anotada esta_registrada recibio tuvo tiene_su ya_tiene tiene_puesta tiene_la tiene_dada se_llevo ha_recibido",
    ),
    (
        C::Missed,
        "se_quedo_sin_su se_quedo_sin_la se_quedo_sin_inyeccion se_quedo_sin_dosis se_me_fue_la_de se_me_paso_la no_fue_aplicada no_fue_puesta no_fue_dada no_se_aplico no_se_puso no_se_dio no_se_inyecto no_se_pincho no_se_le_puso no_se_le_aplico no_se_le_inyecto no_se_le_dio no_hubo_pinchazo no_hubo_inyeccion no_hubo_dosis nadie_le_puso nadie_se_la_puso nadie_le_aplico nadie_la_puso nadie_le_dio nadie_se_la_dio no_le_toco_nada no_alcance_a no_alcanzamos_a no_llegue_a no_logre no_logramos olvide olvido olvidamos olvidaron salto saltamos saltaron salte perdi perdimos perdio_la se_me_olvido se_me_paso se_nos_paso se_nos_olvido se_nos_fue se_me_fue falto me_olvide nos_olvidamos olvidado olvidada salteo salteamos omiti omitio omito omitimos omitida me_salte nos_saltamos quede_dormido quede_dormida no_hubo quedamos_dormidos se_le_olvido perdida pasamos_por_alto me_dormi se_paso no_hay_dosis_puesta saltie se_negó",
    ),
    (
        C::DrawUp,
        "cargo cargar cargamos cargarla llenar lleno_la_jeringa extraer extraigo sacar_del_vial aspirar aspiro jalar cargue succionar",
    ),
    (
        C::Dose,
        "inyeccion inyesion inyecion inyexion dosis pinchazo piquete pinchacito vacuna inyectable aplicacion toma inyeccioncita dosi piquetito medicina_inyectada su_inyectable la_de_la_manana la_de_la_noche la_de_la_tarde la_de_hoy la_de_esta_noche la_de_esta_manana la_matutina la_nocturna vacunita inieccion",
    ),
    (
        C::Doses,
        "numero_de_dosis numero_de_pinchazos numero_de_inyecciones numero_de_aplicaciones las_dosis inyecciones pinchazos piquetes vacunas aplicaciones tomas inyectables pinchacitos",
    ),
    // Vials.
    (
        C::Mixed,
        "esta_hecho_el_preparado esta_hecha_la_mezcla se_hizo_el_preparado acabo_de_preparar_otro acabo_de_armar acabamos_de_armar ya_disolvi ya_se_disolvio se_disolvio se_hizo_la_mezcla hice_mezcla se_mezclo se_preparo se_reconstituyo se_armo quedo_armado quedo_listo_el_frasco prepare_otro termine_de_mezclar termine_de_preparar terminamos_de_mezclar armado armada mezcle mezclado mezclada mezclamos mezclo prepare preparado preparada preparamos preparo reconstitui reconstituido reconstituida reconstituimos reconstituyo disolvi disolvimos disuelto hice_la_mezcla hicimos_la_mezcla he_mezclado hemos_mezclado ha_mezclado hemos_preparado he_preparado arme armamos diluí dilui diluimos diluido acabo_de_hacer acabamos_de_hacer acabo_de_mezclar acabo_de_preparar acabamos_de_mezclar acabamos_de_preparar mescle mesclado prepre mesclamos revolvi quedo_mezclado quedo_preparado acabo_de_reconstituir hice_el_frasco hice_un_frasco acabo_de_diluir mezclaron prepararon",
    ),
    (
        C::Mix,
        "preparado_abierto el_preparado mezclito mezclarse prepararse mezclamiento armarlo armo le_meto_al_polvo le_meto_al_polvito mezclar mezclarlo mezclarla mezcla preparar prepararlo prepararla prepara reconstituir reconstituirlo disolver diluir diluirlo mezclas mezclan preparacion mezclo_yo armar disolverlo",
    ),
    (
        C::Put,
        "metele le_hecho hecho_al le_meto meterle_agua va_de_agua le_va lleva_de_agua echo_al le_echo le_agrego eche echamos echo agregue agregamos agrego anadi anadimos ponerle_agua vierto eche_le echar echarle agregar agregarle anadir pongo_agua puse_agua le_puse_el_agua verti agregado agregada echado lleva",
    ),
    (
        C::Discarded,
        "fue_a_parar_al_tacho fue_a_parar_a_la_basura fue_a_parar_al_basurero fue_a_parar_al_contenedor fue_a_parar_a_la_caneca me_deshice_del al_contenedor_de_agujas en_el_contenedor_de_agujas tiramos_el ya_lo_tiramos ya_lo_tire ya_lo_bote ya_lo_botamos se_fue_a_la_caneca a_la_caneca en_la_caneca al_basurero en_el_basurero en_el_contenedor_de al_contenedor_de_punzantes en_el_contenedor_de_punzantes en_la_caja_de_punzantes a_la_caja_de_punzantes en_el_guardian al_guardian en_la_bolsa_de_la_basura a_la_bolsa_de_basura al_cubo_de_basura al_zafacon al_cesto en_el_cesto lo_bote lo_tire lo_deseche fue_a_dar_a_la_basura quedo_en_la_basura tire tiramos tiro tirado tirada deseche desechado desechada desechamos desecho bote botamos boto botado descarte descartado descartada descartamos elimine eliminado eliminamos a_la_basura en_la_basura al_contenedor en_el_contenedor he_tirado hemos_tirado he_desechado hemos_desechado he_botado tiraron arroje arrojamos me_deshice nos_deshicimos en_el_descartador al_descartador a_la_papelera fue_a_la_basura en_el_tacho al_tacho en_el_bote_de_basura al_bote",
    ),
    (
        C::Discard,
        "toca_tirar toca_desechar toca_tirarlo toca_desecharlo toca_descartar toca_botarlo tirarse botarse desecharse hay_que_tirar toca_botar me_toca_botar botarlo_ya tirar tirarlo tirarla desechar desecharlo desecharla botar botarlo descartar descartarlo eliminar deshacerme deshacerse tiro_el desecho_el tiro_las desechan tira arrojar desecha",
    ),
    (
        C::TookOut,
        "salio_del sacarlo sacarla acabo_de_sacarlo acabo_de_sacarla acabamos_de_sacarlo sacando sacandolo saque sacamos saco lo_saque la_saque sacado he_sacado hemos_sacado saqué retire retiramos sacaron acabo_de_sacar acabamos_de_sacar quite salio_de",
    ),
    (
        C::WasOut,
        "deje dejamos dejo_el dejo_la estuvo_fuera esta_fuera estaba_fuera lleva_fuera estuvo_afuera esta_afuera ha_estado_fuera quedo_fuera_de quedo_fuera estuvo",
    ),
    (
        C::Return,
        "devolvi devolvimos guarde guardamos guardado regrese regresamos volvi_a_meter volvi_a_poner volvi_a_guardar de_vuelta otra_vez_en de_regreso de_nuevo_en vuelto_a_meter ya_esta_en volvio volvimos_a_meter meti_de_nuevo meti_otra_vez regresado devuelto regreso retorne esta_de_vuelta",
    ),
    (C::Out, "fuera afuera"),
    (
        C::Vial,
        "el_que_esta_abierto el_abierto el_que_esta_en_la_nevera el_que_esta_en_la_heladera el_que_esta_en_el_refri el_que_esta_mezclado el_que_mezclamos el_que_mezcle el_que_esta_en_uso este_bote el_bote del_bote un_bote ese_bote bote_abierto bote_nuevo bote_empezado otro_bote mi_bote frasquito_abierto ampolla_uno botecito frasquillo frasquin frasquitico envasecito ampollita botellin_de vialito pomito pomo botella_de_la_medicina el_frasco_de_la_medicina potecito pote vial frasco frasquito botella ampolla botellita ampolleta frasko fraco bial frascito ampula botellin envase viales_abierto",
    ),
    (
        C::Vials,
        "viales frascos botellas ampollas frasquitos ampolletas ampulas",
    ),
    (
        C::Water,
        "aguita agüita aguita_esteril agua_de_inyeccion agua_de_la_ampolla agua_del_kit agua_de_ampolla agua_de_la_veterinaria agua diluyente agua_esteril diluente disolvente solvente liquido_para_mezclar agua_para_inyeccion agua_inyectable agua_bacteriostatica esteril liquido_diluyente",
    ),
    (C::Powder, "polvo polvito liofilizado"),
    (
        C::Medicine,
        "medicina medicamento liquido remedio medicacion solucion producto inyectable_liquido farmaco",
    ),
    (
        C::Syringe,
        "jeringa jeringuilla geringa jeringilla inyectadora",
    ),
    (C::Syringes, "jeringas jeringuillas geringas"),
    (C::Needle, "aguja agujas"),
    (
        C::Supply,
        "guardadas guardados cerradas en_la_caja inventario stock_de cuanto_material que_tanto_material surtido cajita_de del_kit en_el_kit provision provisiones repuesto repuestos existencias suministros material insumos materiales sin_abrir kit inventario reserva cerrados",
    ),
    (
        C::Fridge,
        "nevera heladera refrigerador refri frigorifico frigo refrigeradora frio hielera frijider nevera_pequena refrigeracion frigider",
    ),
    (
        C::Bin,
        "caja_de_punzantes caja_de_agujas caja_de_cortopunzantes contenedor_de_punzantes punzantes guardian zafacon caneca cesto basura contenedor descartador tacho basurero punzocortantes cubo papelera",
    ),
    (
        C::Course,
        "temporada_de_pinchazos todo_esto seguimos_con seguir_con seguimos_pinchando seguimos_poniendo estaremos_con vamos_del_tratamiento llevamos_de_tratamiento ciclo esquema tratamiento curso terapia receta programa todo_el_tratamiento tratamientos",
    ),
    (
        C::Clinic,
        "vete veterinarios consultorio_veterinario la_vet clinica veterinaria veterinario doctor doctora consultorio hospital vet humano persona_real alguien_de_la_clinica consulta doc dra dr",
    ),
    (
        C::Phone,
        "telefono_de_ustedes que_telefono a_que_telefono que_numero a_que_numero numero_de_la numero_de_telefono el_fono fono cel celu numero_de_contacto direccion_de donde_queda_la como_llego_a en_que_calle que_calle calle_esta a_donde_llamo a_donde_marco marco_para para_hablar_con ubicados ubicada_la donde_estan_ubicados direccion_exacta como_llego como_los_contacto telefono numero_de contacto direccion llamo llamarlos llamar llamarles comunicarme comunico correo donde_queda donde_estan ubicacion donde_quedan hablar_con contactar contactarlos contacto_con mail tel fono celular whatsapp localizo domicilio el_numero llamada contactarme donde_esta_la marcar",
    ),
    (
        C::Level,
        "a_contraluz mirando_el mirando_la lo_estoy_viendo lo_acabo_de_mirar lo_mire la_mire mire_a miro_el miro_la lo_miro viendo_el viendo_la estoy_mirando checando acabo_de_checar acabo_de_mirar acabo_de_ver acabo_de_revisar revise_el revisando va_por_la_marca va_por llega_a_la_marca llega_hasta a_la_marca_de hasta_la_marca habra habria trae_como trae_aprox anda_por anda_en ronda marca_de se_lee leo a_simple_vista a_ojo conte contamos nivel marca tiene hay veo se_ve se_ven indica señala mide muestra se_observa contiene me_marca lectura tengo_en_el estoy_viendo parece_que_hay calculo_que_hay",
    ),
    (
        C::Steps,
        "expliqueme expliquenme pasos paso_a_paso instrucciones_para guiame explicame ensename muestrame procedimiento guia mostrame explicarme",
    ),
    // Asking.
    (
        C::HowMuch,
        "q_volumen que_volumen_de de_cuanto_es q_tanta que_tanta cuanta_cantidad que_cantidad_de de_agua_cuanto agua_cuanto q_tanto que_tanto cuanto cuanta q_cantidad que_cantidad cantidad cto qto cuanto_es quanto que_volumen kuanto de_cuanto cuantito cuanto_liquido",
    ),
    (
        C::HowMany,
        "numero_de_dosis numero_de_pinchazos numero_de_inyecciones numero_de_aplicaciones pa_cuantos pa_cuantas para_cuantas para_cuantos q_tantas que_tantas que_tantos cuantos cuantas cuanto_s kuantas kuantos cuantas_son",
    ),
    (
        C::When,
        "cuando_vuelvo_a_pincharla cuando_vuelvo_a_pincharlo cuando_vuelvo_a_pinchar cuando_vuelvo_a_inyectarla cuando_vuelvo_a_inyectarlo cuando_vuelvo_a_inyectar cuando_vuelvo_a_ponersela cuando_vuelvo_a_ponerle cuando_le_vuelvo_a_poner cuando_se_la_vuelvo_a_poner cuando_volvemos_a_pinchar cuando_se_cumplen cuando_se_cumple q_dia_y_a_que_hora que_dia_y_a_que_hora que_dia_y_hora de_cuando de_que_dia a_q_horas cuando_fue cual_fue_la_hora hora_de fecha_y_hora cuando_es_la_ultima cuando que_dia a_que_hora a_que_horas que_horas que_hora en_que_momento q_dia a_q_hora que_fecha para_cuando qué_dia desde_cuando cuándo cdo kuando en_que_fecha q_hora",
    ),
    (
        C::UntilWhen,
        "hasta_cuando hasta_que_dia hasta_que_fecha hasta_que_hora antes_de_cuando para_que_dia hasta_q_dia",
    ),
    (
        C::HowLong,
        "pa_cuantos_dias para_cuantos_dias por_cuantos_dias_mas cuanto_tiempo cuanto_dura cuanto_falta cuanto_aguanta cuanto_me_dura cuanto_nos_dura por_cuanto_tiempo cuanto_va_a_durar",
    ),
    (
        C::HowOften,
        "cada_cuanto cada_cuantas cuantas_veces cada_cuantas_horas cada_que con_que_frecuencia",
    ),
    (
        C::HowOld,
        "cuanto_lleva que_antiguedad cuanto_hace cuanto_tiempo_tiene cuantos_dias_tiene cuantos_dias_lleva hace_cuanto",
    ),
    (C::Who, "quien quienes"),
    (
        C::Which,
        "con_cual en_que_jeringa cual_de_las cual cuales que_tamano que_tipo de_que_tamano",
    ),
    (C::What, "que q ke con_que de_que que_es"),
    (C::How, "como komo"),
    (C::Where, "donde adonde"),
    (C::Why, "por_que"),
    (
        C::Tell,
        "me_indica me_informa me_confirma me_recuerda decirme podria_decirme podria_indicarme podria_recordarme podria_confirmarme podria_informarme podria_contarme podria_pasarme podria_repetirme podria_decirnos podria_indicarnos podria_recordarnos podria_aclararme puede_decirme puede_indicarme puede_recordarme puede_confirmarme puede_informarme puede_contarme puede_pasarme puede_repetirme puede_decirnos puede_indicarnos puede_recordarnos puede_aclararme podrias_decirme podrias_indicarme podrias_recordarme podrias_confirmarme podrias_informarme podrias_contarme podrias_pasarme podrias_repetirme podrias_decirnos podrias_indicarnos podrias_recordarnos podrias_aclararme puedes_decirme puedes_indicarme puedes_recordarme puedes_confirmarme puedes_informarme puedes_contarme puedes_pasarme puedes_repetirme puedes_decirnos puedes_indicarnos puedes_recordarnos puedes_aclararme podrian_decirme podrian_indicarme podrian_recordarme podrian_confirmarme podrian_informarme podrian_contarme podrian_pasarme podrian_repetirme podrian_decirnos podrian_indicarnos podrian_recordarnos podrian_aclararme pueden_decirme pueden_indicarme pueden_recordarme pueden_confirmarme pueden_informarme pueden_contarme pueden_pasarme pueden_repetirme pueden_decirnos pueden_indicarnos pueden_recordarnos pueden_aclararme podes_decirme podes_indicarme podes_recordarme podes_confirmarme podes_informarme podes_contarme podes_pasarme podes_repetirme podes_decirnos podes_indicarnos podes_recordarnos podes_aclararme me_podria_decir me_podria_indicar me_podria_recordar me_podria_confirmar me_podria_informar me_podria_contar me_podria_repetir me_podria_aclarar me_puede_decir me_puede_indicar me_puede_recordar me_puede_confirmar me_puede_informar me_puede_contar me_puede_repetir me_puede_aclarar me_podrias_decir me_podrias_indicar me_podrias_recordar me_podrias_confirmar me_podrias_informar me_podrias_contar me_podrias_repetir me_podrias_aclarar me_puedes_decir me_puedes_indicar me_puedes_recordar me_puedes_confirmar me_puedes_informar me_puedes_contar me_puedes_repetir me_puedes_aclarar me_podrian_decir me_podrian_indicar me_podrian_recordar me_podrian_confirmar me_podrian_informar me_podrian_contar me_podrian_repetir me_podrian_aclarar me_pueden_decir me_pueden_indicar me_pueden_recordar me_pueden_confirmar me_pueden_informar me_pueden_contar me_pueden_repetir me_pueden_aclarar me_podes_decir me_podes_indicar me_podes_recordar me_podes_confirmar me_podes_informar me_podes_contar me_podes_repetir me_podes_aclarar me_fijas te_fijas fijate me_repetis me_repites repetime repiteme me_pasas pasame pasenme me_mandas_el me_decis contame cuentame me_cuentas recuerdenme recordarme haceme_acordar me_haces_acordar acordame mostrame_el muestrame_el dime_la dime_el dime_los decime_los me_das_la me_das_el quisiera_la hay_registro consta quedo_anotado quedo_registrado que_anotaste anotaste registraste tienes_anotado tenes_anotado tienes_registrado tenes_registrado esta_anotada esta_registrada figura_como figura averiguame checame chequeame revisame me_revisas me_checas me_dices me_decis me_puedes_decir puedes_decirme me_podes_decir podes_decirme dime decime digame recuerdame recordame me_recuerdas me_recordas me_puedes_recordar me_podria_decir me_podrian_decir quiero_saber quisiera_saber queria_saber necesito_saber me_pasan me_pasas una_pregunta pregunta una_consulta_rapida sabes sabe me_dicen me_confirmas me_confirman confirmame me_puede_decir me_pueden_decir me_das me_dan podrias_decirme podria_decirme no_recuerdo puedo_saber puedes_recordarme me_indicas me_indican me_avisas duda me_podrias_decir me_dice",
    ),
    // Qualities.
    (
        C::Left,
        "disponibles disponible le_quedan le_queda quedo_en_el le_restan le_falta le_faltan nos_faltan me_faltan nos_quedan me_quedan queda quedan quedar quedo_en falta faltan restan resta restante restantes sobra sobran quedaba quedaban quedara quedando quedaran quedarian",
    ),
    (
        C::Hold,
        "tendrian_que_quedar tendria_que_quedar deberia_tener deberia_tener_el deberia_haber_en quedaria quedarian debiera_quedar deberia_tener_todavia hay_en_el deberia_quedar deberia_haber debe_quedar deberia_tener debe_haber deberian_quedar tendria_que_haber tendria_que_quedar debe_tener salen rinde rinden caben trae saco_de alcanzan_del tendria",
    ),
    (C::More, "mas otra_vez"),
    (
        C::Enough,
        "alcanzar alcancen alcanza alcanzan suficiente suficientes basta bastan bastante alcanzara alcanzaran llega_para me_llega llegan",
    ),
    (
        C::RunOut,
        "me_quedo_sin nos_quedaremos_sin me_quedare_sin se_acaban se_me_acaban se_acaba se_me_acaba se_terminan se_me_terminan se_agotan se_me_agotan nos_quedamos_sin se_van_a_acabar me_duran duran nos_duran",
    ),
    (
        C::Size,
        "volumen capacidad tamano medida tipo calibre de_que_tamano",
    ),
    (C::Total, "en_total total todo_el en_todo"),
    (
        C::Last,
        "mas_reciente la_mas_reciente reciente ultima ultimo ultimas anterior ultima_vez pasada previa previo",
    ),
    (
        C::Next,
        "la_que_viene que_viene_ahora la_que_le_sigue inmediata_siguiente proxima proximo siguiente siguientes que_sigue que_viene proximas procsima prosima q_sigue la_que_sigue sigue",
    ),
    (
        C::Due,
        "cuando_vuelvo_a_pincharla cuando_vuelvo_a_pincharlo cuando_vuelvo_a_pinchar cuando_vuelvo_a_inyectarla cuando_vuelvo_a_inyectarlo cuando_vuelvo_a_inyectar cuando_vuelvo_a_ponersela cuando_vuelvo_a_ponerle cuando_le_vuelvo_a_poner cuando_se_la_vuelvo_a_poner cuando_volvemos_a_pinchar vuelve_a_tocar vuelve_a_tocarle le_vuelve_a_tocar le_toca_de_nuevo me_vuelve_a_tocar toque tocarle tocarme toca tocaba tocan le_toca me_toca nos_toca corresponde tocaria debe_recibir",
    ),
    (
        C::Expire,
        "cuando_se_cumplen cuando_se_cumple se_cumplen se_cumple vence vencen caduca caducan expira vencimiento caducidad caducar sirve se_vence se_echa_a_perder fecha_de_vencimiento fecha_de_caducidad dura vigencia es_bueno se_pasa se_estropea vida_util aguanta valido es_valido puedo_usar_el puedo_usar_este puedo_usar_esta puedo_seguir_usando se_puede_usar usar_el usar_este fecha_limite expiracion dejar_de_usar vencera caducara descarte fecha_de_descarte vale duracion me_dura nos_dura sirva servira puede_usarse se_usa_el podemos_usar_el podemos_usar_este se_malogra se_dana dejo_de_usar dejamos_de_usar",
    ),
    (
        C::New,
        "nuevo nueva nuevos otro otra sin_estrenar otro_frasco otro_vial",
    ),
    (
        C::Old,
        "que_se_acabo que_se_termino que_ya_se_acabo que_ya_se_termino que_se_vacio viejo vieja vacio vacia usado anterior_vial terminado_el gastado acabado vencido_ya frasco_anterior vial_anterior antiguo",
    ),
    (
        C::Open,
        "que_venia_usando que_veniamos_usando que_estaba_usando que_estabamos_usando que_usaba que_estoy_usando que_estamos_usando el_que_esta_abierto el_abierto el_que_esta_en_la_nevera el_que_esta_en_la_heladera el_que_esta_en_el_refri el_que_esta_mezclado el_que_mezclamos el_que_mezcle el_que_esta_en_uso a_que_hora_abre a_que_hora_abren hasta_que_hora_atienden hasta_que_hora_abren hasta_que_hora_estan abren_los atienden_los trabajan_los abierto_los horario_de_la_vete horario_de_ustedes horarios_de_ustedes abierto abierta abiertos abren abre abri atienden atendiendo en_uso horario_de_atencion horario_de_la_clinica horario_de_atencion_al actual abrimos abran atencion atiende horarios_de_atencion horario_de_la_veterinaria horarios_de_la_clinica horarios_de_la_veterinaria",
    ),
    (
        C::Closed,
        "a_que_hora_cierran hasta_que_hora_cierran cierran cierra cerrado",
    ),
    (
        C::Date,
        "fecha caducidad vencimiento vigencia fecha_de_caducidad fecha_de_vencimiento fecha_limite fecha_de_descarte expiracion",
    ),
    (C::Day, "dia dias"),
    (
        C::Week,
        "semana semanas mes meses lunes martes miercoles jueves viernes sabado sabados domingo domingos",
    ),
    (C::Minute, "minuto minutos min mins minutitos"),
    (C::Hour, "hora horas hs hrs h"),
    (
        C::Each,
        "por_toma por_jeringa por_vez de_una_vez_cada por_dosis cada cada_vez por_inyeccion por_toma por_pinchazo por_aplicacion",
    ),
    (
        C::Daily,
        "cada_dia al_dia todos_los_dias diario diaria diarias por_dia diarios",
    ),
    (
        C::Ml,
        "ml mililitro mililitros mls mililtros mililitro_s mm_l",
    ),
    (C::Number, "numero num nro"),
    (
        C::Times,
        "dos_horas_del_dia las_dos_horas horas_del_dia horas_de_manana_y_noche las_horas_de a_que_hora_van horas_de_aplicacion horas_de_las_inyecciones a_que_horas_son a_que_horas que_horas horario horarios horas_de_las las_horas",
    ),
    (
        C::Use,
        "uso usar usamos utilizo utilizar se_usa usa utilizamos usarse",
    ),
    (
        C::End,
        "acabamos_con terminamos_con cuando_acabamos cuando_terminamos paramos_con para_terminar ultima_inyeccion_de_todo ultima_inyeccion_de_todas ultima_dosis_de_todo se_acaba_el_tratamiento cuando_es_la_ultima termina terminan terminar terminamos acaba acabamos acaban acabar finaliza fin final ultimo_dia ultima_dosis_de_todas fin_del concluye son_las_ultimas se_termina",
    ),
    (
        C::Part,
        "mitad media_dosis parte poco poquito poquita un_poco casi_toda casi_todo casi_nada derramo derrame salio tiro_un_poco menos_de menos solo_entro alcance_a se_salio apenas_le apenas goteo resto solo_una_parte casi_entera se_desperdicio escurrio chorreo incompleta medio_ml se_regó rego boto_un_poco no_toda no_entro_toda no_todo tres_cuartos un_tercio escapo algo_de",
    ),
    (
        C::Whole,
        "entro_toda entro_completa entro_todo entro_completo le_entro_toda le_entro_completa toda completa entera entero completo todo",
    ),
    (
        C::About,
        "a_ojo al_ojo ojo_de_buen_cubero mas_menos maso aprox como_unos unos unas aproximadamente casi alrededor alrededor_de aprox mas_o_menos cerca_de como_a",
    ),
    (C::Second, "segundo segunda"),
    // Whether.
    (
        C::Neg,
        "no_le_pude no_la_pude no_lo_pude no_se_la_pude no_se_lo_pude no_le_pudimos no_se_la_pudimos noo nno nada no ni nadie nunca tampoco sin ninguna ningun jamas",
    ),
    (C::Yet, "todavia aun"),
    (C::Still, "sigo"),
    (
        C::Future,
        "cuando_termine recuerdame_cuando avisame_cuando voy_a vamos_a va_a luego despues_de_cenar despues_le ahorita_se ahorita_le en_un_rato en_un_ratito en_cuanto estoy_por estamos_por ya_casi ya_mero ya_voy despues_se mas_tarde_le mas_tarde_se mas_tarde manana_mezclo manana_le manana_se iba_a ibamos_a cuando_llegue cuando_llegues cuando_despierte cuando_vuelva cuando_llegue_mi espera esperando un_momento recuerdame_en avisame_en recordame_en pondre dare ponemos_despues pendiente tratare intentare intente trate_de casi_se_la casi_le poniendosela estoy_poniendo le_estoy_poniendo se_la_estoy ahora_se_la_pongo ahora_le_pongo ahora_se_la_doy ahora_le_doy se_la_pongo_en le_pongo_en enseguida en_seguida en_camino preparandola preparando planeo pienso_ponersela pienso_darle quiero_ponersela mezclare tirare estoy_llegando inyectare aplicare falta_ponerle falta_darle falta_la_de me_falta_ponerle me_falta_darle ya_se_la_pongo ya_le_pongo ya_se_la_doy ya_le_doy se_la_doy_en se_la_damos_en mas_rato mas_al_rato al_rato a_punto_de dentro_de_un_rato dentro_de lo_hare la_pondre se_la_pondre se_la_dare le_dare le_pondre pondremos daremos hare",
    ),
    (
        C::Hedge,
        "creo pienso_que parece quizas quiza talvez tal_vez capaz a_lo_mejor no_estoy_seguro no_estoy_segura no_se_si no_me_acuerdo no_recuerdo_si supongo imagino me_imagino posiblemente probablemente puede_que puede_ser_que hace_rato hace_ratito_largo hace_un_buen_rato seguramente segun_yo juraria no_sabria casi_seguro casi_segura calculo_que hace_un_rato diria",
    ),
    (
        C::If,
        "si_se si_le si_no si_la si_lo y_si si_me que_pasa si_ya si_hay si_es si_esta si_tiene si_puedo si_debo si_solo si_uso si_dejo aunque supongamos que_pasaria en_caso suponiendo si_pongo si_doy si_nos si_mi si_vomita si_come hubiera hubiese hubiéramos si_olvido si_pierdo si_todavia",
    ),
    (
        C::Can,
        "puedo podemos puede pueden podria podriamos se_puede podrian puedes podes podras",
    ),
    (C::Should, "debo deberia debemos deberiamos debi debimos"),
    (
        C::Must,
        "necesito necesita necesitamos necesitan tengo_que tenemos_que hay_que debe toca_tirar tiene_que",
    ),
    (C::Would, "seria quisiera me_gustaria hubiera_querido ojala"),
    (C::Want, "quiero queremos ganas deseo"),
    // Who.
    (
        C::I,
        "yo me mi nos nosotros mis nuestro nuestra mismo misma estoy estamos tengo tenemos soy he hemos habia",
    ),
    (
        C::Beast,
        "le lo la se sela selo ella les su perro perra perrito perrita gato gata gatito gatita mascota peludo peluda gatico michi cachorro cachorra animal animalito nene bebe gordo gordi chiquito chiquita conejo huron caballo perrita_mia anda minino lomito firulais",
    ),
    (
        C::Person,
        "esposo esposa marido mujer hijo hija mama papa madre padre hermano hermana suegra suegro vecina vecino novio novia abuela abuelo nieto nieta tia tio sobrina sobrino pareja cunada cunado amiga amigo ninera cuidadora cuidador chica_que_lo_cuida paseador senora companera companero muchacha prima primo roomie",
    ),
    (C::Somebody, "alguien alguno"),
    // When.
    (
        C::Now,
        "ahora ahorita recien ya_mismo ahora_mismo en_este_momento hace_nada hace_un_momento hace_ratito justo_ahora justo hace_poquito hace_instantes hace_un_ratito hace_un_momentito hace_un_minuto hace_poco ahoritita orita horita recientemente en_este_instante",
    ),
    (C::Ago, "hace hase"),
    (
        C::Morning,
        "la_de_la_manana la_de_esta_manana la_matutina manana_de_hoy en_la_manana de_la_manana esta_manana por_la_manana mananita a_la_manana matutina matutino hoy_temprano madrugada de_la_madrugada matinal la_manana despues_del_desayuno antes_del_desayuno manana_temprano_hoy en_la_mananita",
    ),
    (
        C::Evening,
        "la_de_la_noche la_de_la_tarde la_de_esta_noche la_nocturna noche tarde_noche de_la_noche de_la_tarde esta_noche en_la_noche por_la_noche esta_tarde en_la_tarde por_la_tarde nocturna nocturno a_la_noche tardecita a_la_tarde anochecer nochecita vespertina despues_de_la_cena antes_de_la_cena",
    ),
    (C::Today, "hoy oy"),
    (C::Yesterday, "ayer anoche antenoche ayer_noche"),
    (C::Tomorrow, "manana pasado_manana"),
    (C::Am, "am a_m"),
    (C::Pm, "pm p_m"),
    (
        C::At,
        "al_mediodia a_mediodia mediodia a_las a_la_una a_eso_de_las tipo a_las_las sobre_las como_a_las desde_las las",
    ),
    (
        C::Half,
        "menos_cuarto y_cuarto menos_diez menos_cinco menos_veinte y_diez y_veinte y_cinco y_media",
    ),
    // Between.
    (C::And, "y pero entonces ademas luego_de tambien"),
    (
        C::Because,
        "porque pues ya_que xq pq por_el por_la como_no porke debido",
    ),
    (
        C::Yes,
        "si_ya_se_la si_ya_le si_se_la_di si_se_la_puse si_ya_la si_ya_lo si_ya_esta si sip claro correcto exacto afirmativo asi_es dale_si de_acuerdo sí vale_si por_supuesto emojiyes exactamente eso_es confirmo confirmado sii simon_que_si",
    ),
    (
        C::No,
        "nop negativo para_nada no_gracias emojino incorrecto no_es_correcto nel nones",
    ),
    (
        C::Greet,
        "hola buenas buenos_dias buenas_tardes buenas_noches buen_dia que_tal saludos hey holi ola estimados estimada estimado hola_que_tal doctorcito holaa muy_buenas",
    ),
    (
        C::Thanks,
        "gracias muchas_gracias mil_gracias graciass agradecido agradecida grax grcs gracia",
    ),
    (
        C::Help,
        "me_puede_ayudar me_puedes_ayudar me_podes_ayudar en_que_me_puede_ayudar en_que_me_puedes_ayudar en_que_me_podes_ayudar en_que_puede_ayudarme en_que_puedes_ayudarme que_puede_hacer que_cosas_te_puedo_preguntar que_cosas_puedo_preguntar como_me_puede_ayudar como_me_puedes_ayudar que_cosas_haces que_cosas_sabes que_cosas_puedes que_cosas_podes lista_de_opciones lista_de_cosas que_menu para_que_sirve_este_chat para_que_sirve_este_bot para_que_sirves para_que_sirve_el_bot para_que_sirve_el_chat para_que_es_este_chat que_cosas_te_puedo que_cosas_puedo que_te_puedo_preguntar que_puedo_preguntar que_puedo_escribir que_puedo_anotar q_puedo_anotar q_puedo_preguntar q_puedo_escribir que_le_escribo que_opciones que_opciones_hay no_entiendo_como_usar no_se_como_usar como_usar_este como_uso_este como_se_usa_este como_se_usa_esto como_funciona_este como_funciona_esto que_sabes_hacer que_haces que_entiendes que_entendes que_comandos lista_de_comandos que_mas_puedes que_mas_sabes opciones menu ayudame_a_usar soy_nuevo soy_nueva en_que_ayudas en_que_me_ayudas en_que_puedes_ayudar que_mas_puedes_hacer que_mas_sabes que_mas_haces que_puedes_responder que_sabes_responder que_eres_capaz_de_hacer capaz_de_hacer preguntarte preguntar pedirte que_cosas ayuda que_puedo_preguntar como_funciona como_funciona_esto como_se_usa que_puedes_hacer que_podes_hacer instrucciones menu que_sabes_hacer comandos opciones ayudame que_haces como_te_uso para_que_sirves que_cosas_puedo como_uso_esto que_puedo_hacer que_puedo_escribir como_funcionas que_sabes que_puede_hacer ayuda_con_el_bot como_registro como_aviso como_uso_el_bot que_puedo_pedir que_mas_puedes como_te_digo que_te_puedo_preguntar que_puedo_preguntarte que_opciones_hay que_escribo como_se_utiliza que_hace_este_bot como_uso_este_bot necesito_ayuda en_que_me_ayudas en_que_puedes_ayudarme que_tengo_que_escribir en_que_me_puedes_ayudar en_que_ayudas que_preguntas",
    ),
    (C::Bot, "bot aplicacion_esta robot app esto"),
    (
        C::Undo,
        "me_equivoque deshacer deshaz deshace borra borra_eso corrige corrige_eso fue_un_error error_mio cancela cancela_eso anula anula_eso boton_equivocado me_confundi perdon_error olvida_eso no_era_eso quita_eso corregir borrar anular eso_estaba_mal eso_no_era aprete_mal toque_mal elimina_eso corrijo correccion borralo me_equivoque_de_boton ignora_eso era_mentira cancelar deshagan equivocacion apreté_sin_querer quitalo revertir",
    ),
    // Trouble.
    (
        C::Symptom,
        "responde reacciona reaccionar despierta despertar despertarse conocimiento conciencia respirar respirando respiracion morada morado moradas azul azules hinchada hinchados hinchadas habones urticaria convulsiona convulsiono convulsionado convulsionar sangrar muchisimo desvanecio desvanecida desvanecido ahoga ahogo ahogar asfixia asfixio anafilactico anafilaxia inconsciente desplomo desplomarse colapso colapsado emergencia sobredosis dificultad muere murio pulso lengua garganta labios hocico desmayada inconsciente convulsionando ahogando ahogandose asfixiando hemorragia desplomada desplomado desmayada muriendo muerto muerta vomito vomita vomitando vomitar vomite vomitó vomitos vomitado devolvio_la_comida devolvio_todo arcadas nauseas diarrea suelto_del_estomago heces popo caca evacua orina orino orinando pis pipi sangre_en sangre sangra sangro sangrando sangrado cojea cojeando cojo renguea renquea rengo tambalea tambaleante mareado mareada mareo temblando tiembla temblor temblores tirita tiritando decaido decaida decaimiento apagado apagada triste desanimado letargico cansado cansada dormido_todo duerme_mucho somnoliento debil debilidad flojo floja raro rara extraño extrano llora llorando lloro llorar llorona chilla chillo grito gritó queja quejo quejando aullo dolor duele dolorido dolorida adolorido molesto molesta bulto bola bolita chichon pelota hinchado hinchada hincho hinchazon hincha inflamado inflamada inflamacion enrojecido roja rojo rojos rojas rojez sarpullido comezon picazon rasca rascando se_lame lame moreton hematoma pus secrecion absceso infeccion infectado fiebre temperatura caliente_al_tacto calentura babea babeando babeo baba jadea jadeando jadeo tose tosiendo tos estornuda estornudos apetito no_come no_quiere_comer no_comio no_ha_comido no_bebe no_toma_agua sed bebe_mucho toma_mucha peso_bajo adelgazo bajo_de_peso subio_de_peso engordo panza barriga estomago abdomen vientre estrenido estrenimiento encias ojos ojo orejas_calientes pelo_se caida_de_pelo calva costra herida reaccion alergia alergico preocupado preocupada preocupa preocupacion preocupados asustado asustada asusta angustiado nervioso nerviosa inquieto inquieta agresivo agresiva gruñe grune gruñendo esconde_y empeoro empeora peor mal malito malita enfermo enferma enfermito sintoma sintomas algo_raro algo_mal efectos_secundarios efecto_secundario respiracion respira convulsion convulsiones desmayo ataque espuma no_camina no_se_mueve no_juega no_se_levanta no_quiere_caminar no_quiere_jugar ronchas legaña lagañas lagana moco mocos gases flemas tieso tiesa rigido desorientado confundido ciego quejumbroso aullando aulla lagrimea muerde_se palido palida amarillo_los ictericia no_parece no_esta_bien bulto_en bolsa_de_liquido edema lastimo lastimado adormilado adormilada atontado atontada aletargado aletargada ido_del jorobado encorvado encorvada lamiendo irritado irritada irritacion ardor quiste granos granito roncha espasmo esta_ida pasmado gime gimiendo gemidos gemia agitado agitada ansioso ansiosa flaco flaca desganado desganada inapetente resfriado mucosidad sarna caspa supura supurando tumor anda_mal debilucho lento_y",
    ),
    (
        C::Judge,
        "que_debo_hacer que_debo_darle que_debo_ponerle que_debo_dar es_correcta esta_correcta es_la_correcta miedo temo esta_bien_si esta_bien_que es_malo es_normal normal es_peligroso peligroso peligro pasa_algo que_hago que_hacemos que_deberia no_importa importa da_igual hay_problema problema se_puede_si vale_todavia sirve_todavia todavia_sirve sirve_aun sirve_igual es_seguro seguro_usar aconsejas aconsejan consejo recomiendan recomienda recomiendas recomendacion mejor espero o_espero es_mejor hace_efecto efecto funciona_de funciona_bien funcionando cura curar curado curada curarse curara mejora mejorar mejorara se_mejora se_cura le_hara dañino danino hace_dano dano igual_se la_doy_igual es_grave grave es_tarde muy_tarde demasiado_tarde muy_temprano es_necesario necesario hace_falta para_que_sirve para_que_es por_que maximo maxima minimo pesa peso kilos kilo kg libras lb adelante_igual es_correcto esta_correcto o_no debo_preocuparme riesgo riesgos interaccion contraindicado contraindicaciones lo_puedo la_puedo le_puedo se_la_puedo tarda_en contagia contagioso dosis_olvidada dosis_perdida es_bueno_que afecta afectara conviene es_recomendable que_opinas que_opinan cree_que crees_que creen_que pasaria perjudica arriesgado tolera",
    ),
    (
        C::WrongDose,
        "cada_uno cada_una uno_cada_uno igual_se_la_puse la_volvi_a_poner la_volvio_a_poner volvi_a_ponersela volvi_a_ponerle volvi_a_inyectar volvi_a_pinchar volvi_a_dar volvi_a_darle volvi_a_darsela volvio_a_ponersela volvio_a_darle la_volvi_a_dar la_volvieron_a_poner volvimos_a_ponersela doble dos_veces dos_dosis doblemente duplique duplico duplicado duplicada los_dos ambos las_dos_dosis demasiado demasiada de_mas sin_querer por_error por_equivocacion equivocado equivocada equivoque equivoco equivocacion_de otro_perro otro_gato triple extra sobredosis tambien_se_la tambien_le la_puso_tambien yo_tambien nuevamente repeti repetida repetimos segunda_dosis por_la_boca via_oral oral boca intramuscular en_el_musculo musculo vena aire de_sobra dos_inyecciones dos_pinchazos 2_veces 2_dosis mal_puesta lugar_equivocado dosis_equivocada juntas juntos la_dosis_de_otro confusion accidente accidentalmente hubo_un_error me_pase_de me_pase se_me_fue_la_mano tres_veces tres_dosis entre_los_dos error",
    ),
    (
        C::Change,
        "hora_tarde horas_tarde hora_antes horas_antes cambiar cambia cambio cambiarla cambiamos bajar bajarle subir subirle aumentar reducir menos_dosis darle_menos ponerle_menos mas_dosis darle_mas ponerle_mas dejar_de dejarlo dejar suspender suspendo suspendimos parar parar_el interrumpir detener saltar saltarme saltarnos saltear saltearnos omitir posponer retrasar retrasarla atrasar adelantar mover mover_la correr_la pasar_la en_vez_de en_vez en_lugar_de diferente distinta distinto menos_veces una_vez_al vacaciones de_viaje_y dividir partir alargar extender acortar descansar descanso el_doctor_dijo el_doctor_me_dijo la_doctora_dijo la_doctora_me_dijo me_dijeron me_dijo nos_dijeron nos_dijo dijeron dijo dijiste la_vet_dijo no_quiero no_queremos ya_no_le_voy no_le_voy_a no_voy_a_poner rendirme abandonar otra_hora otro_horario mas_temprano antes_de_tiempo terminar_antes diluir_mas mas_espaciadas lei_en lei_que google internet otra_marca",
    ),
    (
        C::OtherDrug,
        "pastilla pastillas tableta tabletas comprimido comprimidos antibiotico antibioticos analgesico analgesicos desparasitante desparasitar pipeta antipulgas pulgas garrapatas gotas_para gotas_de_los gotas insulina prednisona prednisolona corticoide corticoides cortisona antihistaminico meloxicam metacam amoxicilina tramadol gabapentina aspirina ibuprofeno paracetamol vitamina vitaminas suplemento suplementos probiotico probioticos vacuna_de_la_rabia vacuna_antirrabica antirrabica quintuple sextuple crema pomada unguento jarabe champu shampoo capsula capsulas dipirona diclofenaco omeprazol otra_medicina otro_medicamento otro_remedio otras_medicinas sus_otras_medicinas calmante calmantes sedante antiinflamatorio antialergico collar comida comer comida_antes croquetas pienso premio premios desayuno_de bano banar banarlo banarla baño leche pollo tiroides corazon presion suero_oral inyeccion_de_vitaminas colirio spray aceite hierbas homeopatia cbd furosemida pimobendan doxiciclina cefalexina metronidazol ranitidina quimio quimioterapia inhalador nebulizador alimento alimentar cenar almuerzo vacunarlo vacunarla alergico_al loratadina benadryl dramamine atun abrazo paseo",
    ),
    (
        C::OtherAnimal,
        "otro_pero otro_animal otra_mascota otra_perra otra_gata otro_perrito otro_gatito mi_otro mi_otra el_otro la_otra gato_de perro_de_mi un_perro un_gato un_caballo una_gata una_perra vecinos los_dos_perros los_dos_gatos ambos_perros perros gatos del_vecino de_la_vecina gatitos cachorros hermanito",
    ),
    (
        C::Human,
        "me_pinche me_clave me_mordio me_muerde mordio mordida mordisco me_arano araño arano aranazo rasguno me_rasguno mi_dedo el_dedo mi_mano la_mano mi_ojo en_el_ojo mi_piel mi_brazo embarazada embarazo lactando amamantando mi_bebe nino nina ninos ninas la_niña me_pique me_inyecte me_cayo me_salpico me_la_puse me_puse dedo mano me_corte piquete_me se_pincho_mi pincho_mi_hijo tomo_mi_hijo trago bebio_del me_lo_tome me_manche humanos personas guantes salpico me_piche me_hinque me_trague los_nenes",
    ),
    (
        C::Quality,
        "se_salio goteo escurrio chorreo derramo derrame se_rego agua_de turbio turbia turbidez nublado opaco opaca grumos grumo grumoso puntitos puntos particulas flotando flota amarillento amarillenta amarillo color cafe marron rosado espuma_en burbujas burbuja burbujitas congelo congelado congelar congelarlo congelada congelador hielo descongelo rompio roto rota quebro quebrado quebrada rajado rajo cayo caido se_me_cayo golpeo derramado goteando gotea sol calor caliente calentar calentarlo calentarla tibio ambiente temperatura_ambiente mesa encimera mesada toda_la_noche todo_el_dia toda_la_tarde desde_ayer coche carro auto bolso mochila se_fue_la_luz apagon heladera_no nevera_no refri_no desenchufado desenchufada huele olor sucio sucia contaminado contaminada vencido vencida caducado caducada reusar reutilizar reutilice reuse misma_aguja misma_jeringa lavar lavarla lave limpie limpiar hervida hervir esterilizar perdio_el_frasco se_perdio perdido no_encuentro robaron agua_de_la_llave agua_del_grifo grifo llave canilla agua_embotellada embotellada mineral agua_mineral suero suero_fisiologico solucion_salina salina sal destilada otra_agua potable agitar agitarlo agita se_agita agite sacudir no_se_disuelve no_disuelve no_se_disolvio disuelve_bien avion viajar_con guardar conservar almacenar se_guarda tapa tapon etiqueta doblo doblada torcida atasco atascada trabo trabada embolo mismo_lugar mismo_sitio nuevo_sin_querer juntar_dos combinar mezclar_dos dos_frascos_juntos precargar precargada cargar_antes dejarla_cargada fuera_de_la_nevera_cuanto estar_fuera rancio espeso espesa pegajoso sedimento residuo basurita pelusa moho explotó estallo agrio clumps derritio maleta rompieron",
    ),
    (
        C::Units,
        "unidades unidad rayitas rayita rayas raya lineas linea marcas marquita cucharadita cucharaditas cucharada cucharadas cuchara gotitas cuantas_gotas cc mg miligramos microgramos onzas ui centimetros centimetro cm cubicos gramos graduacion rallitas",
    ),
    (
        C::Visit,
        "se_me_terminaron se_terminaron se_nos_terminaron me_terminaron consigo consigue conseguimos cita turno hora_con control revision consulta_medica visita llevarlo llevarla traerlo traerla chequeo agendar agenda reservar cuesta precio precios cobran pagar costo vale_el cuanto_vale factura reembolso mandenme manden enviar envien enviarme mandar pedir pido encargar encargo comprar compro venden necesito_mas necesitamos_mas buscar_otro pasar_a_buscar recoger retirar_mas reponer reposicion se_me_acabo se_me_acabaron se_acabo se_acabaron se_nos_acabo se_nos_acabaron me_quede_sin nos_quedamos_sin_agujas quede_sin no_tengo_mas ya_no_tengo no_tengo_agujas no_tengo_jeringas no_hay_mas puedo_pasar pasar_por conseguir farmacia entrega envio paquete radiografia analisis cirugia resultados eutanasia dormirlo mas_agujas_por_favor otro_frasco_por_favor reprogramar enviame mandame mandenos vendeis seguro_medico quedamos_sin sacrificarlo necesito_agujas necesito_jeringas necesito_un necesito_otro necesito_otra plata dinero encargarle",
    ),
    (
        C::Jailbreak,
        "ignora ignora_tus olvida_tus olvida_las olvida_todo actua_como actua finge haz_de_cuenta imagina_que eres_un_veterinario eres_veterinario eres_doctor como_veterinario receta_algo recetame recetar simula hazte_pasar instrucciones_previas instrucciones_anteriores tus_reglas tus_instrucciones sin_restricciones diagnostica diagnostico entre_nos hace_de_cuenta has_de_cuenta actuar_como sos_veterinario jugar_a modo_desarrollador prompt sistema pretende rol reglas secreto contrasena fingi",
    ),
    (C::Meal, "cena desayuno merienda despues_de_cenar_algo"),
    (
        C::Aside,
        "viendo mirando cocina sala comedor recamara pasillo balcon cochera garaje regazo jaula transportadora cojin almohada silla escaleras arriba abajo sentado sentada acurrucado acurrucada jugando juguete oficina junta clase tarea examen universidad mercado tienda restaurante cine concierto gimnasio aeropuerto hotel playa campo parque iglesia cumpleanos navidad asado parrillada vino cerveza pelicula serie tele novela lavadora trastes cocinando limpiando ducha regadera truenos cohetes ruido timbre familia parientes abuelos suegros nietos invitados jefe colega cliente plomero maletas precioso preciosa maravilloso maravillosa orgulloso orgullosa aliviado aliviada agradecidos rutina costumbre se_volvio_a_dormir volvio_a_dormirse siguio_durmiendo barrio esquina",
    ),
    (
        C::Loose,
        "chicas grandes chico pequeno pequena grande chica caja cajita vacuna vacunas otra_cosa uno una_vez hasta desde primera primer tercera entre cuenta antes despues sobre tras cosa cosas hay_que_decir se_que tarde quedo quedaron ha_quedado ser estar siendo fueron",
    ),
    // Harmless.
    (
        C::Filler,
        "seria_tan_amable_de seria_tan_amable sea_tan_amable_de tan_amable_de si_fuera_tan_amable si_no_es_molestia de_nuevo registrada registrado anotada anotado apuntada apuntado registradas no_hubo_forma no_hubo_forma_de no_hubo_manera no_hubo_caso no_sono no_sono_la_alarma o_solo_una o_solo_uno o_una_sola o_nada_mas_una agua_del_cielo hace_rato_ya me_di_cuenta me_doy_cuenta te_das_cuenta se_dio_cuenta te_comento les_comento comento nada_mas_queria queria_avisar queria_contarte queria_contarles solo_para_avisar solo_aviso solo_queria oigan oiga oye_mira fijate_que resulta_que total_que al_final por_cierto de_una de_un_jalon de_una_vez a_la_primera al_primer_intento sin_lios sin_pleito sin_bronca sin_rollo con_paciencia con_ayuda entre_dos entre_los_dos_lo como_debe_ser como_dios_manda como_toca como_tocaba como_de_costumbre a_su_hora a_la_hora puntualito puntualita puntual_como en_tiempo a_tiempo y_listo y_ya y_ya_esta completita completito enterita enterito toditito todita todito su_agua con_sus con_su suya suyo pude pudimos pudo todo_en_orden sin_novedad lamentablemente afortunadamente desgraciadamente completamente tranquilamente actualmente reportando reporto confirmo confirmado cumplida_la apenas_ahora como_quedamos tal_como solito solita manta toalla quieto quieta sin_queja comportamiento excelente_paciente de_nada correcta adecuada van ir el los esta este vez vamos vas un una de del al en con para por a los las o son es era eran fue ha han hay_un ya muy bien todo_bien perfecto perfecta sin_problemas sin_problema sin_drama facil tranquilo tranquila tranquilito tranquilita porfa por_favor porfavor favor disculpa disculpen perdon lo_siento mira bueno buena oye che pues_nada eso esa ese eso_es_todo aqui aca alla ahi este_momento jaja jajaja jeje ah ay uf ok okay okey dale vale genial excelente super como_siempre como_indicaron en_punto puntual exacta hora_exacta soy_yo te_aviso les_aviso aviso avisar les_informo informo te_cuento le_cuento para_avisar confirmo_que anota anoten anotar apunta apunten registra registrar registren registro nota nomas no_mas_aviso minutos_tarde tarde_disculpa con_retraso me_olvide_de_avisar olvide_avisar se_me_olvido_avisar se_porto_bien porto portó guapo valiente campeon campeona ni_se_entero ni_lo_noto ni_se_dio_cuenta ni_se_inmuto sin_quejarse dormidito linda lindo hermosa hermoso feliz contento contenta tan lo_mismo mismo_de_siempre algunos algunas tu te usted ustedes vos os estan esta_ya va va_bien eran_las les_escribo escribo escribir mensaje saludo abrazos besos x decir digo sé noches_a_todos esos esas estos estas ese_frasco tal casa exactos justos gusto premio_despues menos_mal por_fin al_fin rapido rapidito ella_es debe_ser dentro ahi_mismo hoy_dia tranqui joya barbaro listo_calisto",
    ),
    (
        C::Filler,
        "se_me_fue_la_onda llegamos_tarde llegue_tarde llegamos_muy_tarde tarde_del_trabajo trabajo del_trabajo trafico transito reunion ocupado ocupada ocupados de_viaje viaje no_estabamos_en_casa no_estaba_en_casa no_estuve no_habia_luz sin_luz corte_de_luz escondio se_escondio se_escapo escapo corrio salio_corriendo bajo_la_cama debajo_de_la_cama cama sofa jardin patio durmiendo dormido dormida estaba_dormido estaba_dormida no_se_dejo no_se_deja no_se_quedo_quieto no_se_quedo_quieta no_se_estuvo_quieto despertador alarma colegio escuela fiesta boda visitas lluvia tormenta metro autobus llaves peluqueria guarderia hotel_canino nos_dormimos nos_quedamos_dormidos salimos salir calle mudanza ninos_en_la_escuela estabamos estaba habiamos habiamos_salido mucho_trabajo turno_de_noche lio caos dia_largo telefono_sin_bateria sin_bateria sin_senal imposible cuando_llegue_ya",
    ),
    (
        C::Other,
        "quien_te te_hizo mojado mojada mojados mojadas pelo hoja piso suelo aire mueve moverse levanta levantarse shock blanco blancos lados cara chiste broma cancion clima tiempo_hace partido gano quien_gano quien_eres presidente capital pizza taxi te_quiero te_amo inutil tonto idiota odio basura_de pared ventana prueba probando vida muerte fuego cosa_rara moto noto bota bote_de voto roto_corazon coto pata pato gasto busto susto gesto resto_del punto pinto tinto cinto minta tanta planta santa manta canto llanto mesa_de mesas masa pasa casa_de taza plaza raza broma_de pelota_de toro loro coro foro moro nuevecito huevo cuevas juego fresco frescos fiasco atasco_de trasero trazo brazo lazo vaso paso caso faso dice dices vida_mia dosel posis tesis crisis viral vinal vital vivel final_de nivel_de bola_de rial dial misa risa prisa brisa lisa",
    ),
];
