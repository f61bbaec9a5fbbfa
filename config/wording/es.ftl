### Español. Todas las frases que envía el programa. Se trata de «tú».
###
### Se omite la línea que necesita un dato que el mensaje no trae, y también la
### línea vacía. $has_DATO es "yes" o "no". $DATO_time es la hora de un instante
### sin su fecha. Los datos de cada mensaje están en src/wording/contract.rs.
###
### Una idea por línea. Nada de aquí dice si algo está bien.

## Palabras para fechas, números y listas

weekday-1 = lun
weekday-2 = mar
weekday-3 = mié
weekday-4 = jue
weekday-5 = vie
weekday-6 = sáb
weekday-7 = dom
month-1 = ene
month-2 = feb
month-3 = mar
month-4 = abr
month-5 = may
month-6 = jun
month-7 = jul
month-8 = ago
month-9 = sep
month-10 = oct
month-11 = nov
month-12 = dic
clock = { $hour24 }:{ $minute }
date-time = { $weekday } { $day } { $month }, { $time }
day-month = { $weekday } { $day } { $month }
duration =
    { $form ->
        [minutes] { $minutes } min
        [hours] { $hours } h
       *[both] { $hours } h { $minutes } min
    }
span = { $from } a { $until }
open-days = { $days }, { $times }
decimal-mark = ,
list-more = { $list }, { $next }
list-last = { $list } y { $last }
quoted = “{ $text }”
shortened = { $text }… (abreviado)
unnamed-patient = Tu animal

## Botones

label-given = Puesta
label-not-given = No puesta
label-mixed = Mezclado
label-discarded = Desechado
label-yes = Sí
label-no = No
label-take-back = Deshacer
label-neither = Nada de esto
label-next-step = Paso siguiente
label-previous-step = Atrás
label-seen = Visto
label-confirm = Confirmar
label-next-page = Página siguiente
label-previous-page = Página anterior
label-ended-reached-owner = Se habló con el dueño
label-ended-no-answer = No contestan
label-ended-given-late-on-order = Orden: ponerla tarde
label-ended-left-out-on-order = Orden: no ponerla
label-ended-comes-in = Viene a la clínica
label-ended-handed-out = Entregado
label-ended-otherwise = Cerrado de otro modo
label-cancel = Cancelar
label-nobody = Nadie más
label-as-needed = Los que hacen falta

## Frases que usan varios mensajes

call = Llama a tu clínica: { $phone }
not-sure = ¿Dudas? Llama a tu clínica: { $phone }
recorded-by =
    { $own ->
        [no] Lo anotó { $by }.
       *[yes] Lo anotaste tú.
    }
# Quien la puso y quien lo anotó pueden ser dos personas.
undone-by =
    { $own ->
        [no] Lo deshizo { $by }.
       *[yes] Lo deshiciste tú.
    }
given-by =
    { $has_recorded_by ->
        [yes]
            { $own ->
                [no] La puso { $by }, lo anotó { $recorded_by }.
               *[yes] La puso { $by }, lo anotaste tú.
            }
       *[no] { recorded-by }
    }
mixed-by =
    { $has_recorded_by ->
        [yes]
            { $own ->
                [no] Lo mezcló { $by }, lo anotó { $recorded_by }.
               *[yes] Lo mezcló { $by }, lo anotaste tú.
            }
       *[no] { recorded-by }
    }
doses =
    { $doses_left ->
        [0] menos de una dosis
        [one] 1 dosis
       *[other] { $doses_left } dosis
    }
no-mixed-vial = { $patient }: no hay ningún vial mezclado anotado.
if-mixed = ¿Mezclaste uno? Escribe “mezclado”.
vial-before =
    { $has_from_vial ->
        [yes]
            Carga { $from_ml } del vial { $from_vial }.
            Después carga { $then_ml } del vial { $then_vial }.
       *[no]
            { $has_remaining_ml ->
                [yes] El vial { $vial } tiene { $remaining_ml } antes de esta dosis.
               *[no] Usa el vial { $vial }.
            }
    }
vials-again =
    { $has_from_vial ->
        [yes] Son { $from_ml } del vial { $from_vial } y { $then_ml } del vial { $then_vial }.
       *[no] { vial-before }
    }
vial-after =
    { $has_doses_left ->
        [yes] El vial { $vial } tiene ahora { $remaining_ml }, { doses }.
       *[no] El vial { $vial } tiene ahora { $remaining_ml }.
    }
unplaced =
    { $has_unplaced_ml ->
        [yes]
            { $unplaced_ml } no salieron de ningún vial mezclado anotado.
            { if-mixed }
       *[no] {""}
    }
not-as-planned =
    { $differs ->
        [yes] Este no es el volumen previsto.
       *[no] {""}
    }
past-limit =
    { $past ->
        [yes] Esa hora ya pasó. Deséchalo ahora.
       *[no] {""}
    }
the-vial =
    { $has_vial ->
        [yes] el vial { $vial }
       *[no] un vial
    }
who =
    { $has_patient ->
        [yes] { $patient } ({ $owner })
       *[no] { $owner }
    }
household = Hogar { $household }.
call-home = Teléfono: { $owner_phone }
next-open-dose = Próxima dosis abierta: { $planned }, { $volume_ml }.

## Para el dueño: el tratamiento

course-joined =
    { $patient }: { $volume_ml } por dosis, a las { $times }.
    Hola, { $name }. Este mensaje es de { $clinic }.
    Próxima dosis: { $planned }.
    Última dosis: { $ends }.
    Un vial: añade { $diluent_ml } de diluyente. En total se pueden extraer { $available_ml }.
    Escribe “mezclado” cuando mezcles un vial. Escribe “ayuda” si la necesitas.
    Este programa lleva la hora y las cuentas. No da consejos.
    Sigue la orden del veterinario.
    { not-sure }
dose-due =
    { $patient }: hora de la dosis, { $planned }.
    { $has_from_vial ->
        [yes] La dosis es de { $volume_ml }, de más de un vial.
       *[no] Carga { $volume_ml }.
    }
    { vial-before }
dose-again =
    { $patient }: aún sin respuesta la dosis del { $planned }.
    La dosis es de { $volume_ml }.
    { vials-again }
    Toca { label-given } o { label-not-given }.
dose-window-closed =
    { $doses ->
        [one] { $patient }: nada anotado para la dosis del { $planned }.
       *[other] { $patient }: nada anotado para { $doses } dosis, la última del { $planned }.
    }
    { $reason ->
        [unasked] Este programa estaba parado y no pudo preguntar.
       *[unanswered] El tiempo para responder terminó.
    }
    { $doses ->
        [one]
            ¿Se puso? Entonces escribe la hora, por ejemplo “puesta a las 7:40”.
       *[other]
            ¿Se puso alguna?
            Dilo cuando llames a tu clínica.
    }
    { call }
vial-mix-next =
    { $patient }: mezcla el vial { $vial }.
    { $reason ->
        [first] Aún no hay ningún vial mezclado.
        [empty] El vial abierto está vacío.
        [discarded] El último vial está desechado.
        [limit] El vial abierto ya pasó su límite de tiempo.
        [short]
            El vial abierto tiene menos de una dosis.
            Ese resto no se usa.
       *[split] Esta dosis sale de más de un vial.
    }
    Añade { $diluent_ml } de diluyente ({ $diluent }) al vial { $vial }.
    Cuando esté mezclado, toca { label-mixed }.
    La dosis lleva { $from_ml } del vial { $from_vial } y { $then_ml } del vial { $vial }.
vial-limit-near =
    { $hours ->
        [0] { $patient }: el vial { $vial } llega a su límite en menos de 1 hora.
        [one] { $patient }: el vial { $vial } llega a su límite en 1 hora.
       *[other] { $patient }: el vial { $vial } llega a su límite en { $hours } horas.
    }
    Deséchalo antes de: { $discard_by }.
    Según nuestra cuenta tiene { $remaining_ml }.
vial-limit-reached =
    { $patient }: el vial { $vial } llegó a su límite, { $discard_by }.
    Según nuestra cuenta tiene { $remaining_ml }.
    Deséchalo. Después toca { label-discarded }.
supply-low =
    { $vials_left ->
        [0] { $patient }: quedan pocas existencias, ningún vial sin mezclar.
        [one] { $patient }: quedan pocas existencias, 1 vial sin mezclar.
       *[other] { $patient }: quedan pocas existencias, { $vials_left } viales sin mezclar.
    }
    Se acaban: { $runs_out }.
    { call }
course-ended =
    { $by_clinic ->
        [yes] { $patient }: la clínica terminó el tratamiento.
       *[no] { $patient }: el tratamiento terminó.
    }
    { $given } de { $doses } dosis están anotadas como puestas.
    { $by_clinic ->
        [yes] Ya no se pide ninguna dosis.
       *[no] {""}
    }
    Viales sin mezclar que quedan, según las cuentas: { $vials_left }.
    ¿Qué sigue? Llama a tu clínica: { $phone }
course-changed =
    { $what ->
        [dose] { $patient }: cambia la cantidad de la dosis, por orden de la clínica.
        [times] { $patient }: cambian las horas, por orden de la clínica.
        [length] { $patient }: cambia el final del tratamiento, por orden de la clínica.
        [zone] { $patient }: las horas siguen otro reloj, por orden de la clínica.
        [paused] { $patient }: en pausa, por orden de la clínica.
        [resumed] { $patient }: el tratamiento sigue, por orden de la clínica.
       *[other] { $patient }: la clínica cambió la orden.
    }
    { $what ->
        [paused]
            No hay ninguna dosis prevista hasta que la clínica lo diga.
            No se pide nada, y nada cuenta como dosis sin poner.
       *[other] Esto rige desde ahora:
    }
    Una dosis: { $volume_ml }, en la jeringa de { $syringe_ml }.
    Horas: { $times }.
    El reloj de { $zone }.
    Próxima dosis: { $planned }.
    Última dosis: { $ends }.
    La dosis del { $asked_before } se pidió antes y queda como estaba.
    ¿Preguntas? Llama a tu clínica: { $phone }

## Para el dueño: lo anotado

recorded-given =
    { $patient }: { $volume_ml }, dosis puesta, { $given_at }.
    Es la dosis del { $planned }.
    { given-by }
    { vial-after }
    { $has_remaining_ml ->
        [yes] {""}
       *[no] Salió del vial { $vial }.
    }
    { unplaced }
    { not-as-planned }
    Próxima dosis: { $next }.
recorded-not-given =
    { $patient }: no puesta, dosis del { $planned }.
    { recorded-by }
    { call }
recorded-mixed =
    { $patient }: vial { $vial } mezclado, { $mixed_at }.
    Tiene { $remaining_ml }, { doses }.
    Deséchalo antes de: { $discard_by }.
    { mixed-by }
recorded-discarded =
    { $patient }: el vial { $vial } ya está desechado.
    Aún tenía { $remaining_ml } según nuestra cuenta.
    { recorded-by }
recorded-level =
    { $patient }: nivel visto en el vial { $vial }, { $level_ml }.
    Según nuestra cuenta son { $remaining_ml }.
    { recorded-by }
recorded-out-of-fridge =
    { $state ->
        [out] { $patient }: vial { $vial } fuera del refrigerador, { $at }.
       *[back] { $patient }: vial { $vial } de vuelta en el refrigerador, { $at }.
    }
    Estuvo fuera { $minutes }.
    { call }
recorded-corrected =
    { $has_planned ->
        [yes] { $patient }: cambió lo anotado de la dosis del { $planned }.
       *[no]
            { $has_vial ->
                [yes] { $patient }: cambió lo anotado del vial { $vial }.
               *[no] { $patient }: cambió lo anotado.
            }
    }
    { $what ->
        [given]
            { $has_given_at ->
                [yes] Ahora está anotado: { $volume_ml }, puesta { $given_at }.
               *[no] Ahora está anotado: puesta.
            }
        [not-given] Ahora está anotado: no puesta.
        [mixed] Ahora está anotado: mezclado.
       *[taken-back] Ahora no hay nada anotado. Lo anotado antes ya no cuenta.
    }
    Mezclado: { $mixed_at }.
    Deséchalo antes de: { $discard_by }.
    { $what ->
        [taken-back] { undone-by }
       *[other] { given-by }
    }
    { vial-after }
    { unplaced }
    { not-as-planned }
    Próxima dosis: { $next }.
    { call }

## Para el dueño: lo que se entendió

confirm =
    { $about ->
        [given] { $patient }: ¿anoto esta dosis como puesta?
        [not-given] { $patient }: ¿anoto esta dosis como no puesta?
        [mixed] { $patient }: ¿anoto { the-vial } como mezclado?
        [discarded] { $patient }: ¿anoto { the-vial } como desechado?
        [level] { $patient }: ¿anoto el nivel visto en { the-vial }?
        [out-of-fridge] { $patient }: ¿anoto que { the-vial } estuvo fuera del refrigerador?
        [taken-back] { $patient }: ¿deshago lo anotado de esta dosis?
        [supplies] { $patient }: ¿anoto lo que escribiste sobre el material?
        [which-patient] ¿De qué animal hablas?
        [which-time] { $patient }: ¿de qué hora hablas?
        [which-dose] { $patient }: ¿de qué dosis hablas?
        [when] { $patient }: ¿a qué hora se puso?
        [amount] { $patient }: ¿cuántos mL entraron?
        [amount-meaning] { $patient }: ¿qué significa este número?
        [nothing-open] Ahora no hay ninguna pregunta abierta.
        [dropped] No se anotó nada.
        [zone] { $patient }: ¿cambio las horas a otro reloj?
       *[pending] { $patient }: nada anotado, la dosis sigue abierta.
    }
    { $about ->
        [zone] Próxima dosis entonces: { $planned }.
       *[other] Dosis del { $planned }.
    }
    El reloj de { $zone }.
    Allí es ahora { $here_now }.
    Tiempo desde la dosis anterior: { $gap }.
    Viales sin mezclar: { $vials_left }.
    Jeringas: { $syringes }.
    Agujas: { $needles }.
    Diluyente: { $diluent_count }.
    { $about ->
        [not-given]
            { $has_by ->
                [yes] Ahora está anotado: puesta el { $given_at }, por { $by }.
               *[no] Ahora está anotado: puesta { $given_at }.
            }
       *[other] Puesta: { $given_at }.
    }
    Mezclado: { $mixed_at }.
    { $has_volume_ml ->
        [yes] Volumen: { $volume_ml }.
       *[no] {""}
    }
    { $about ->
        [given] Del vial { $vial }.
        [level] Nivel: { $level_ml }.
        [amount-meaning] Nivel: { $level_ml }.
       *[other] {""}
    }
    { $late ->
        [yes]
            Está fuera del margen de tiempo.
            Se avisará a tu clínica.
       *[no] {""}
    }
    { $about ->
        [which-patient] Aún no hay nada anotado.
        [which-time] Aún no hay nada anotado.
        [which-dose] Aún no hay nada anotado.
        [when] Escribe la hora, por ejemplo “puesta a las 7:40”.
        [amount] Escribe cuánto entró, por ejemplo “puse 0,7 mL”.
        [amount-meaning] Escríbelo con palabras, por ejemplo “puse 0,7 mL”.
        [nothing-open] Escríbelo completo, por ejemplo “puesta a las 7:40”.
        [dropped] Puedes escribirlo completo, por ejemplo “puesta a las 7:40”.
        [pending] Toca { label-given } o { label-not-given }.
       *[other] No se anota nada hasta que toques { label-yes }.
    }
    { $rest ->
        [yes]
            No entendí todo.
            Tus palabras se enviaron a tu clínica.
       *[no] {""}
    }
    { not-sure }

## Para el dueño: respuestas

answer-remaining =
    { $has_vial ->
        [yes] { $patient }: el vial { $vial } tiene { $remaining_ml } según nuestra cuenta.
       *[no] { no-mixed-vial }
    }
    { $has_vial ->
        [yes]
            { $past ->
                [yes] {""}
               *[no] Alcanza para { doses }.
            }
       *[no] { if-mixed }
    }
    Deséchalo antes de: { $discard_by }.
    { past-limit }
answer-doses-left =
    { $has_vial ->
        [yes]
            { $past ->
                [yes] { $patient }: ninguna dosis en el vial { $vial }, pasó su límite de tiempo.
               *[no] { $patient }: el vial { $vial } alcanza para { doses }.
            }
       *[no] { no-mixed-vial }
    }
    { $has_vial ->
        [yes] Según nuestra cuenta tiene { $remaining_ml }.
       *[no] { if-mixed }
    }
    Deséchalo antes de: { $discard_by }.
    { past-limit }
answer-discard-by =
    { $has_vial ->
        [yes] { $patient }: desecha el vial { $vial } antes de: { $discard_by }.
       *[no] { no-mixed-vial }
    }
    { $has_vial ->
        [yes] {""}
       *[no] { if-mixed }
    }
    { past-limit }
    Se mezcló el { $mixed_at }.
answer-mixed-at =
    { $has_vial ->
        [yes] { $patient }: el vial { $vial } se mezcló el { $mixed_at }.
       *[no] { no-mixed-vial }
    }
    { $has_vial ->
        [yes] {""}
       *[no] { if-mixed }
    }
    Deséchalo antes de: { $discard_by }.
    { past-limit }
answer-next-dose =
    { $has_planned ->
        [yes]
            { $open ->
                [yes] { $patient }: es hora de la dosis, prevista el { $planned }.
               *[no] { $patient }: próxima dosis, { $planned }.
            }
       *[no] { $patient }: no hay más dosis previstas.
    }
    La dosis es de { $volume_ml }.
    { $open ->
        [yes] Aún no tiene respuesta.
       *[no] {""}
    }
second-report =
    { $status ->
        [not-given] {""}
       *[other]
            Un segundo aviso no es una segunda dosis.
            ¿Se puso dos veces? Entonces llama a tu clínica.
    }
answer-last-dose =
    { $has_planned ->
        [yes]
            { $again ->
                [yes] { $patient }: ya estaba anotada la dosis del { $planned }.
               *[no] { $patient }: última dosis, { $planned }.
            }
       *[no] { $patient }: aún no hay ninguna dosis anotada.
    }
    { $status ->
        [given] Puesta el { $given_at }, por { $by }.
        [not-given] No puesta. Lo anotó { $by }.
        [unanswered] No hay respuesta anotada.
       *[other] {""}
    }
    Lo anotó { $recorded_by }.
    Volumen: { $volume_ml }.
    { $again ->
        [yes] { second-report }
       *[no] {""}
    }
    { not-sure }
answer-volume =
    { $patient }: una dosis es de { $volume_ml }.
    Jeringa: { $syringe_ml }.
answer-diluent =
    { $patient }: { $diluent_ml } de diluyente ({ $diluent }) para un vial.
    Después se pueden extraer { $available_ml }.
answer-syringe =
    { $patient }: jeringa de { $syringe_ml }.
    Una dosis es de { $volume_ml }.
answer-course-left =
    { $doses_left ->
        [0] { $patient }: no quedan dosis del tratamiento.
        [one] { $patient }: queda 1 dosis del tratamiento.
       *[other] { $patient }: quedan { $doses_left } dosis del tratamiento.
    }
    { $given } de { $doses } están anotadas como puestas.
    Última dosis: { $ends }.
    Los viales en casa no alcanzan para la dosis del { $runs_out }.
answer-supplies =
    { $patient }: material en casa, según nuestra cuenta.
    Viales sin mezclar: { $vials_left }.
    Se acaban: { $runs_out }.
    Jeringas: { $syringes }.
    Agujas: { $needles }.
    Dosis que quedan del tratamiento: { $doses_left }.
answer-schedule =
    { $patient }: { $volume_ml } a las { $times }.
    Próxima dosis: { $planned }.
    Última dosis: { $ends }.
answer-clinic-contact =
    { $clinic }: { $phone }
    Horario: { $hours }
    Si está cerrada: { $emergency_phone }
answer-help =
    Puedes escribir “puesta” o “no puesta”.
    Escribe “mezclado” cuando mezcles un vial.
    Escribe “desechado” cuando tires uno.
    Puedes preguntar “¿cuánto queda?”.
    Puedes preguntar “¿cuándo es la próxima dosis?”.
    Puedes preguntar “¿se puso la última dosis?”.
    Todo lo demás es para tu clínica: { $phone }
answer-steps =
    { $topic ->
        [mixing] { $patient }: mezclar, paso { $step } de { $steps }.
        [drawing-up] { $patient }: cargar la jeringa, paso { $step } de { $steps }.
        [sharps] { $patient }: agujas y jeringas usadas, paso { $step } de { $steps }.
       *[injecting] { $patient }: inyectar, paso { $step } de { $steps }.
    }
    { $words }
    Son palabras de { $clinic }.
answer-clinic-note =
    { $clinic } dice:
    { $words }
call-clinic =
    { call }
    { $passed ->
        [yes] Tus palabras se enviaron a la clínica.
       *[no] {""}
    }
    { $open ->
        [no] La clínica está cerrada ahora.
        [yes] La clínica está abierta ahora.
       *[other] {""}
    }
    Horario: { $hours }
    En una emergencia llama a: { $emergency_phone }
emergency =
    { $has_emergency_phone ->
        [yes] Llama ya: { $phone } o { $emergency_phone }
       *[no] Llama ya: { $phone }
    }
    No esperes una respuesta aquí.
    { $passed ->
        [yes] Tus palabras también van a la clínica.
       *[no] {""}
    }
clinic-reply =
    { $has_patient ->
        [yes] { $patient }: { $by }, de tu clínica, escribe:
       *[no] { $by }, de tu clínica, escribe:
    }
    { $words }
    Escribiste: { $text }

## Para la clínica

clinic-missed-dose =
    { $reason ->
        [not-given] No puesta: { who }
       *[other] Sin respuesta: { who }
    }
    Dosis del { $planned }, hace { $late_minutes }.
    No puestas o sin respuesta en este tratamiento: { $missed }.
    Última puesta: { $last }.
    Lo último que escribieron: { $said }
    { call-home }
    { household }
clinic-question =
    { $why ->
        [question] Pregunta: { who }
        [not-understood] No se entendió: { who }
        [medium] Foto, voz o archivo: { who }
        [edited] Cambió un mensaje anterior: { who }
        [late-answer] Respuesta tardía: { who }
        [early] Antes de la hora de la dosis: { who }
        [outside-window] Fuera del margen de tiempo: { who }
        [past] Sobre una hora anterior: { who }
        [other-amount] Otra cantidad: { who }
        [corrected] Anotación cambiada: { who }
        [taken-back] Se deshizo lo anotado: { who }
        [spare-vial] Más viales mezclados que entregados: { who }
        [out-of-fridge] Vial fuera del refrigerador: { who }
        [zone] Viaje o zona horaria: { who }
       *[other] Escribió el dueño: { who }
    }
    { $by }: { $text }
    Estuvo fuera { $minutes }.
    { $of_dose ->
        [yes] Es la dosis del { $planned }, { $volume_ml }.
       *[no] { next-open-dose }
    }
    Última puesta: { $last }.
    { clinic-vial }
    { call-home }
    { household }
clinic-vial =
    { $has_discard_by ->
        [yes] Vial { $vial }: quedan { $remaining_ml }, desechar antes de: { $discard_by }.
       *[no] Vial { $vial }: quedan { $remaining_ml }.
    }
clinic-emergency =
    PALABRAS DE EMERGENCIA: { who }
    { $by }: { $text }
    Se le dijo al dueño que llame ya.
    { next-open-dose }
    Última puesta: { $last }.
    { clinic-vial }
    { call-home }
    { household }
clinic-vial-past-limit =
    Dosis de un vial pasado de su límite: { who }
    { $volume_ml }, puesta el { $given_at }, por { $by }.
    Vial { $vial }, límite { $discard_by }.
    { call-home }
    { household }
clinic-supply-low =
    Pocas existencias: { who }
    Viales sin mezclar: { $vials_left }.
    Se acaban: { $runs_out }.
    Fin del tratamiento: { $ends }.
    { call-home }
    { household }
clinic-level-differs =
    El nivel no coincide: { who }
    Vial { $vial }: { $level_ml } vistos, { $remaining_ml } según nuestra cuenta.
    Lo anotó { $by }.
    { call-home }
    { household }
clinic-unreachable =
    Sin contacto: { who }
    { $why ->
        [blocked] { $by } cerró el chat.
        [never-joined] { $by } no ha abierto la invitación.
       *[other] Los mensajes a { $by } no llegan.
    }
    { call-home }
    { household }
clinic-outage =
    { $why ->
        [undelivered] Mensajes no entregados: { who }
        [unreached] No se pudo conectar con el servicio de mensajes.
       *[down] Este programa estaba parado: { who }
    }
    Desde { $since } hasta { $until }. Mientras tanto los mensajes esperaron.
    { $why ->
        [undelivered] Un aviso no llegó, dosis del { $planned }.
       *[other] { doses-not-asked }
    }
    La última: { $last }.
    { call-home }
    { household }
doses-not-asked =
    { $doses ->
        [one] No se preguntó por 1 dosis: { $planned }.
       *[other] No se preguntó por { $doses } dosis, la primera del { $planned }.
    }
clinic-not-seen =
    { $unseen ->
        [yes] SIN VER: { who }
       *[no] Sin contestar: { who }
    }
    { alert-about }
    Se avisó a la clínica hace { $waited_minutes }.
    { $on_call ->
        [yes] Para quien esté de guardia.
       *[no] {""}
    }
    Para { $name }.
    { $by }: { $text }
    Estuvo fuera { $minutes }.
    { waiting-dose }
    Dosis: { $doses }.
    No puestas o sin respuesta en este tratamiento: { $missed }.
    Última puesta: { $last }.
    Lo último que escribieron: { $said }
    { waiting-given }
    { waiting-vial }
    Cuidador: { $carer }.
    { call-home }
    { household }
    { $last_rung ->
        [yes] No se avisa a nadie más. Queda en la lista hasta que alguien pulse Visto.
       *[no] {""}
    }
waiting-dose =
    { $has_late_minutes ->
        [yes] Dosis del { $planned }, hace { $late_minutes }.
       *[no] { waiting-next-dose }
    }
waiting-next-dose =
    { $of_dose ->
        [yes] Es la dosis del { $planned }, { $volume_ml }.
       *[no] { waiting-planned }
    }
waiting-planned =
    { $has_volume_ml ->
        [yes] { next-open-dose }
       *[no] La primera: { $planned }.
    }
waiting-given =
    { $has_late_minutes ->
        [yes] Anotado después: { $volume_ml }, puesta el { $given_at }, por { $by }.
       *[no] { $volume_ml }, puesta el { $given_at }, por { $by }.
    }
waiting-vial =
    { $has_given_at ->
        [yes] Vial { $vial }, límite { $discard_by }.
       *[no] { waiting-level }
    }
waiting-level =
    { $has_level_ml ->
        [yes] Vial { $vial }: { $level_ml } vistos, { $remaining_ml } según nuestra cuenta.
       *[no] { clinic-vial }
    }
clinic-seen =
    { $status ->
        [seen] Visto: { who }
        [seen-before] Visto antes: { who }
        [called] Se llamó, sin contacto: { who }
        [ended] Aviso cerrado: { who }
       *[ended-before] Aviso cerrado antes: { who }
    }
    { alert-about }
    { how-ended }
    Por { $by }, { $at }.
    Dosis del { $planned }.
    { $from }: { $text }
    { $how ->
        [given-late-on-order] { dose-as-it-was }
        [left-out-on-order] { dose-as-it-was }
       *[other] {""}
    }
    { household }
alert-about =
    { $about ->
        [emergency] Palabras de emergencia.
        [missed-dose] Dosis no puesta, o sin respuesta.
        [question] Mensaje del dueño.
        [vial-past-limit] Dosis de un vial pasado de su límite.
        [level-differs] El nivel no coincide.
        [unreachable] Sin contacto.
        [outage] Dosis sin preguntar, o avisos no entregados.
       *[supply-low] Pocas existencias.
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
dose-as-it-was = Con esto no se anotó ninguna dosis. La anota el dueño.
clinic-questions =
    { $count ->
        [0] Ningún dueño espera respuesta.
        [one] 1 mensaje de un dueño espera respuesta.
       *[other] { $count } mensajes de dueños esperan respuesta.
    }
    Sin mostrar: { $more }. Contesta los de abajo y escribe “questions” otra vez.
clinic-answered =
    { $status ->
        [sent] Enviado: { who }
        [closed] No se envió, el aviso ya estaba cerrado: { who }
        [not-reached] No se envió, no hay contacto: { who }
       *[names-another] No se envió, lleva otro nombre: { who }
    }
    { $status ->
        [sent] A { $to }, de { $by }.
        [closed] Por { $by }, { $at }.
        [not-reached] Llámalos.
       *[names-another] Tus palabras nombran a { $other }. Irían a { $to }. ¿Son para { $other }? Contesta al mensaje de ese hogar. Si no, escríbelas sin ese nombre.
    }
    { how-ended }
    { $before_by } contestó antes, { $before_at }.
    { $from }: { $text }
    { call-home }
    { household }
clinic-alerts =
    { $count ->
        [one] 1 aviso. Toca el nombre si te ocupas.
       *[other] { $count } avisos. Toca el nombre del que te ocupas.
    }
    { $text }
clinic-patient =
    { who }
    Cada dosis: { $volume_ml }, a las { $times }.
    Puestas: { $given } de { $doses }. No puestas o sin respuesta: { $missed }.
    { $asking ->
        [paused] En pausa: no se pide ninguna dosis.
        [unconfirmed] Orden sin confirmar: no se pide ninguna dosis.
       *[other] {""}
    }
    Próxima dosis: { $planned }.
    Fin del tratamiento: { $ends }.
    { $last_doses }
    { $last_vials }
    Viales sin mezclar: { $vials_left }.
    Jeringas: { $syringes }.
    Agujas: { $needles }.
    { $open_alerts }
    Lo último que escribieron: { $said }
    { call-home }
    { household }
clinic-staff =
    { $what ->
        [joined] En la lista del personal de la clínica desde ahora:
        [bound] Este es ahora el chat de la clínica:
        [on-call] De guardia:
        [nobody-on-call] Nadie está de guardia por su nombre. Escribe «on call» y un nombre.
       *[not-on-the-staff] No está en la lista del personal de la clínica:
    }
    { $name }
    { $role ->
        [technician] Técnico.
        [veterinarian] Veterinario.
       *[other] {""}
    }
clinic-note =
    { $what ->
        [no-question] No se envió. Nadie espera respuesta a ese mensaje. Contesta a un mensaje de un dueño.
        [several] No se envió. Ese mensaje lleva varios avisos. Contesta al mensaje de un dueño, o llama.
        [no-such-patient] Nadie en tratamiento tiene ese nombre. Escribe “board” para ver a todos.
        [not-staff] No estás en la lista del personal de la clínica. Aquí puedes leer. No se cambió nada.
        [veterinarian] Esto lo anota un veterinario. No se cambió nada.
        [veterinarian-confirms] Esto lo confirma un veterinario. No se cambió nada. El botón queda.
       *[undelivered] No se pudo enviar un mensaje a este chat. Escribe «board» y mira a quién hay que llamar.
    }
clinic-digest =
    { $count ->
        [0] Hoy: ningún paciente.
        [one] Hoy: 1 paciente.
       *[other] Hoy: { $count } pacientes.
    }
    { $action ->
        [one] 1 paciente necesita a alguien.
       *[other] { $action } pacientes necesitan a alguien.
    }
    Página { $page } de { $pages }.
    { $text }
clinic-board =
    { $count ->
        [0] En tratamiento: ningún paciente.
        [one] En tratamiento: 1 paciente.
       *[other] En tratamiento: { $count } pacientes.
    }
    { $action ->
        [one] 1 paciente necesita a alguien.
       *[other] { $action } pacientes necesitan a alguien.
    }
    Página { $page } de { $pages }.
    { $text }
change-of =
    { $change ->
        [dose] Cambio de dosis
        [times] Cambio de horas
        [zone] Cambio de zona horaria
        [length] Cambio de duración
        [carer-added] Nuevo cuidador
        [carer-removed] Cuidador retirado
        [paused] Pausa
        [resumed] Fin de la pausa
        [ended] Fin del tratamiento
       *[other] Cambio
    }
clinic-order-check =
    { $status ->
        [change] { change-of }, por favor revisa: { who }
        [change-second] { change-of }, aún sin efecto: { who }
        [changed] { change-of }, con efecto desde ahora: { who }
        [change-dropped] { change-of }, cancelado: { who }
        [change-same-person] { change-of }, sin confirmar: { who }
        [change-refused] { change-of }, no se cambió nada: { who }
        [change-closed] { change-of }, ya no está abierto: { who }
        [which]
            { $has_patient ->
                [yes] ¿Cuál { $patient } es, { $owner }?
               *[no] ¿Qué paciente es, { $owner }?
            }
        [unclear] No se entendió, no se cambió nada: { who }
        [confirmed] Orden confirmada: { who }
        [already] Confirmada antes: { who }
        [same-person] Sin confirmar: { who }
        [refused] No inscrito, no se cambió nada: { who }
       *[check] Revisa esta orden: { who }
    }
    { $status ->
        [change] Lo anotó { $by }. No cambia nada hasta que toques { label-confirm }.
        [change-second] Lo anotó { $by }. Otra persona debe tocar { label-confirm }.
        [changed] Lo confirmó { $by }.
        [change-dropped] Por { $by }. No se cambió nada.
        [change-same-person] Lo anotó { $by }. Debe confirmarlo otra persona.
        [change-refused] Lo envió { $by }.
        [change-closed]
            { $has_by ->
                [yes] Ya lo respondió { $by }.
               *[no] Ya es demasiado antiguo. Anótalo de nuevo.
            }
        [which] Aún no se cambia nada.
        [unclear] Lo envió { $by }.
        [confirmed] Por { $by }. Tiene efecto desde ahora.
        [already] Por { $by }.
        [same-person] La anotó { $by }. Debe confirmarla otra persona.
        [refused] La envió { $by }.
       *[check] La anotó { $by }. Debe confirmarla otra persona.
    }
    Lo anotó { $entered_by }.
    { $text }
    { $change ->
        [length] Antes: { $before } dosis.
       *[other] Antes: { $before }.
    }
    { $change ->
        [length] Después: { $after } dosis.
       *[other] Después: { $after }.
    }
    Rige desde la dosis del { $planned }.
    La dosis del { $asked_before } se pidió antes y queda como estaba.
    Tiempo desde la dosis anterior, { $last }: { $gap }.
    { $gap_flag ->
        [yes] ATENCIÓN: la regla de la clínica pide otro tiempo entre dos dosis.
       *[no] {""}
    }
    Desde la dosis del { $next } no se pide ninguna.
    Dosis puestas: { $given }. Dosis que quedan: { $doses_left }.
    Última dosis: antes { $ends_before }, después { $ends }.
    Viales sin mezclar en casa: { $vials_left }. Hacen falta desde aquí: { $vials_needed }.
    ATENCIÓN: no llegan a la dosis del { $runs_out }. Viales que faltan: { $vials_short }.
    { $nobody ->
        [yes] ATENCIÓN: no queda nadie a quien se le pidan las dosis.
       *[no] {""}
    }
    Ordenado por { $veterinarian }: { $product }.
    { $weight_lb } x 0.45359237 = { $weight_kg }.
    { $weight_kg } x { $rate } = { $mass }.
    { $mass } / { $concentration } = { $exact_ml }.
    Jeringa de { $syringe_ml }, marcas de { $graduation_ml }: { $volume_ml }.
    El redondeo cambia la dosis en { $rounding }.
    { $rounding_flag ->
        [yes] ATENCIÓN: está por encima del límite de la clínica.
       *[no] {""}
    }
    Un vial: { $concentration } x { $available_ml } = { $drawable }. Etiqueta: { $strength }. Diferencia: { $label }.
    { $label_flag ->
        [yes] ATENCIÓN: las cifras de la etiqueta no concuerdan.
       *[no] {""}
    }
    Dosis: { $doses }. Viales: { $vials }. Diluyente en total: { $diluent_ml }. Se desecha: { $thrown_ml }.
    Jeringas: { $syringes }. Agujas: { $needles }.
    Recipiente para agujas: { $sharps_count } x { $sharps_size }, se cambia a las tres cuartas partes.
    { household }
clinic-enrolled =
    Inscrito: { who }
    Una dosis: { $volume_ml }. Diluyente para un vial: { $diluent_ml }.
    Primera dosis: { $planned }.
    Última dosis: { $ends }.
    Dosis: { $doses }. Viales que entregar: { $vials }.
    { household }
    { $has_links ->
        [yes]
            { $hours ->
                [one] Invitaciones, válidas 1 hora:
               *[other] Invitaciones, válidas { $hours } horas:
            }
       *[no] {""}
    }
    { $links }
clinic-enrolling =
    { $status ->
        [cancelled] { $by }: cancelado, no se inscribió a nadie.
        [closed] { $by }: no tienes aquí ninguna inscripción abierta. Escribe “enrol” para empezar.
        [resumed] Inscripción de { $by }, desde donde quedó.
       *[ask] Inscripción de { $by }.
    }
    { $wrong }
    Pregunta { $step } de { $steps }.
    { $question ->
        [patient] ¿Cómo se llama el paciente?
        [species] ¿Qué especie es? Toca una o escríbela.
        [weight] ¿Cuánto pesa? Escríbelo así: 30 kg, o: 66 lb
        [product] ¿Qué se entrega? Tócalo.
        [dose] ¿Cuánto es una dosis? Escríbelo así: 14 mg/kg, o: 420 mg, o: 1.5 mL
        [times] ¿A qué horas cada día? Tócalas o escríbelas así: 07:30 19:30
        [first] ¿Cuándo es la primera dosis? Tócala o escríbela así: 2026-03-05 19:30
        [length] ¿Cuánto dura el tratamiento? Escríbelo así: 28 days, o: 56 doses
        [owner] ¿Quién es el dueño?
        [language] ¿En qué idioma se le escribe?
        [zone] ¿Con qué reloj vive? Tócalo o escríbelo así: America/Denver
        [carers] ¿Quién más pone dosis allí? Escribe los nombres con comas.
        [vials] ¿Cuántos viales van a casa? Escribe el número.
        [veterinarian] ¿Qué veterinario lo ordenó?
       *[other] {""}
    }
clinic-invitation =
    Invitación para { $name } (hogar de { $owner }):
    { $link }
    { $hours ->
        [one] Válida 1 hora, para una sola persona.
       *[other] Válida { $hours } horas, para una sola persona.
    }

## En papel: el archivo de calendario

bot-description = El bot de tu clínica para las inyecciones en casa. Te avisa, lleva la cuenta de cada vial y pasa todo lo demás a la clínica. No da consejos.
menu-next = ¿Cuándo es la próxima dosis?
menu-left = ¿Cuánto queda en el vial?
menu-steps = Los pasos de la clínica para mezclar
menu-calendar = Las dosis para el calendario del teléfono
menu-clinic = Cómo llamar a la clínica
menu-help = Qué puedes escribir
board-patient = { $patient } ({ $owner }, hogar { $household }): { $given } de { $doses } puestas, { $missed } no puestas o sin respuesta.
board-last = Última: { $last }.
board-vial = Vial { $vial }: { $remaining_ml } hasta { $discard_by }.
board-vials = Viales sin mezclar: { $vials_left }.
board-alerts = SIN VER: { $alerts }.
board-unanswered = Sin contestar: { $count }.
board-past-limit = Vial pasado de su límite.
board-unreached = Nadie allí recibe mensajes.
board-runs-out = Se acabarán los viales.
board-paused = En pausa.
board-unconfirmed = Orden sin confirmar: no se pide ninguna dosis.
board-brief = { $patient } ({ $owner }): { $given } de { $doses } puestas.
patient-given = { $planned }: { $volume_ml }, puesta el { $given_at }, por { $by }.
patient-not-given = { $planned }: no puesta, dice { $by }.
patient-unanswered = { $planned }: sin respuesta.
patient-open = { $planned }: preguntada, aún sin respuesta.
patient-vial =
    { $state ->
        [discarded] Vial { $vial }: desechado. Mezclado el { $mixed_at }, límite { $discard_by }, quedaban { $remaining_ml }.
        [past-limit] Vial { $vial }: PASADO DE SU LÍMITE. Mezclado el { $mixed_at }, límite { $discard_by }, quedan { $remaining_ml }.
        [empty] Vial { $vial }: vacío. Mezclado el { $mixed_at }, límite { $discard_by }, quedan { $remaining_ml }.
       *[in-use] Vial { $vial }: mezclado el { $mixed_at }, desechar antes de: { $discard_by }, quedan { $remaining_ml }.
    }
patient-alert =
    { $seen ->
        [no] SIN VER, { $at }: { alert-about }
       *[yes] Sin contestar, { $at }: { alert-about }
    }
calendar-name = { $patient }: dosis
calendar-event = { $patient }: dosis, { $volume_ml }
calendar-details =
    Carga { $volume_ml } en la jeringa de { $syringe_ml }.
    Esta entrada sigue la orden del veterinario.
    No sabe qué dosis se pusieron.
    Si la orden cambia, pide un archivo nuevo.
    ¿Dudas? Llama a { $clinic }: { $phone }

## En papel: la hoja para casa

sheet-kind = Hoja para casa
sheet-for = { $species }, { $weight } · para { $owner }
sheet-call = Llama a la clínica
sheet-call-closed = Cuando está cerrada
sheet-each-dose = Cada dosis
sheet-at = cada día a las { $times }
sheet-syringe = Jeringa de { $syringe_ml }
sheet-mark = llena hasta { $mark_ml }
sheet-ordered = { $product } · { $ordered } · orden de { $veterinarian }
sheet-course =
    { $doses ->
        [one] 1 dosis: { $first }.
       *[other] { $doses } dosis: la primera { $first }, la última { $last }.
    }
sheet-vial = Cada vial
sheet-diluent =
    Añade { $diluent_ml } de diluyente ({ $diluent }).
    Después se pueden extraer { $available_ml }.
    Guarda el vial mezclado en el refrigerador.
sheet-discard =
    { $has_days ->
        [yes] Deséchalo { $hours } horas ({ $days } días) después de mezclarlo, aunque quede algo.
       *[no] Deséchalo { $hours } horas después de mezclarlo, aunque quede algo.
    }
    ¿Se quedó fuera? Llama a la clínica.
sheet-mixing = Mezclar un vial
sheet-drawing-up = Cargar una dosis
sheet-injecting = Inyectar
sheet-sharps = Agujas usadas
sheet-no-steps = La clínica no escribió pasos para esto. Pregunta antes de empezar: { $phone }
sheet-more-steps = La clínica tiene más pasos de los que caben aquí. Pídelos: { $phone }
sheet-table = Dosis
sheet-table-how = Puesta: escribe la hora. No puesta: tacha la casilla y llama a la clínica.
sheet-table-mixed = Vial mezclado
sheet-table-ends = Esta tabla termina el { $last }. El tratamiento sigue: pide la hoja siguiente a la clínica.
sheet-supplies = Material para las dosis que faltan
sheet-supply-vials =
    { $vials ->
        [one] 1 vial de polvo y { $diluent_ml } de diluyente
       *[other] { $vials } viales de polvo, cada uno con { $diluent_ml } de diluyente
    }
sheet-supply-syringes =
    { $syringes ->
        [one] 1 jeringa de { $syringe_ml }
       *[other] { $syringes } jeringas de { $syringe_ml }
    }
sheet-supply-needles =
    { $needles ->
        [one] 1 aguja
       *[other] { $needles } agujas: una para cargar, otra para inyectar
    }
sheet-supply-mixing =
    { $syringes ->
        [one] 1 jeringa con sus agujas, solo para mezclar
       *[other] { $syringes } jeringas con sus agujas, solo para mezclar
    }
sheet-supply-sharps =
    { $containers ->
        [one] 1 recipiente para punzantes de { $size }: se cambia a tres cuartos
       *[other] { $containers } recipientes para punzantes de { $size }: se cambian a tres cuartos
    }
sheet-cautions = Ten presente
sheet-caution-lines =
    Guarda todo esto lejos de niños y animales.
    Las reglas locales dicen adónde va el recipiente lleno: pregunta a la clínica.
    ¿Tarde, olvidada, otro volumen, un vial que se ve distinto? Llama a la clínica.
    Esta hoja sigue la orden del veterinario. No da consejos.
sheet-scan = Escanea para recibir los avisos
sheet-scan-until = hasta { $until }
sheet-printed = Impresa { $printed } para { $clinic }. Si la orden cambia, esta hoja ya no cuenta: pide una nueva.

## En papel: la imagen del tratamiento

picture-title = { $patient }: { $volume_ml } por dosis
picture-given = { $given } de { $doses } puestas
picture-not-given = { $count } no puestas
picture-unanswered = { $count } sin respuesta
picture-key-given = puesta
picture-key-not-given = no puesta
picture-key-unanswered = sin respuesta
picture-key-planned = prevista
picture-key-limit = desechar
picture-vials = Debajo de las dosis: mL que quedan en cada vial mezclado
picture-vial = vial { $vial }
picture-now = Ahora: { $now }
picture-span = Aquí se ve: { $first } a { $last }.
