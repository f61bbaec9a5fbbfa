//! Words that stop everything: signs for which no plan and no state matter.
//!
//! Collapse, unconsciousness, breathing trouble, a swollen face or throat,
//! hives, seizures, heavy bleeding, a massive overdose, death. Between an
//! emergency and a question for the clinic, a present sign is an emergency.
//! A sign that is denied ("no seizures today") or merely asked about ("is a
//! seizure possible") is not, but a person must still see it.
//!
//! The list of signs: common practice, no source.

use std::sync::LazyLock;

use regex::Regex;

/// How a text speaks of signs that cannot wait.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Sign {
    /// It does not.
    None,
    /// It denies one, or asks about one in general.
    Mentioned,
    /// It tells of one.
    Present,
}

/// Looks for signs in plain words: lower case, without accents, one space
/// between words and around the whole, ` . ` between sentences.
pub(super) fn sign_in(words: &str) -> Sign {
    let mut sign = Sign::None;
    for found in SIGNS.find_iter(words) {
        let before = &words[..found.start()];
        let sentence = before
            .rfind(" . ")
            .map_or(before, |stop| &before[stop + 2..]);
        let after = &words[found.end()..];
        if DENIED.is_match(sentence)
            || ASKED.is_match(sentence)
            || NOT_THE_ANIMAL.is_match(sentence)
            || (sentence.ends_with(" se me")
                && (found.as_str().starts_with(" ca") || NOT_THE_ANIMAL_AFTER.is_match(after)))
        {
            sign = Sign::Mentioned;
        } else if ASKED_AFTER.is_match(after) && !THIS_ONE.is_match(sentence) {
            sign = sign.max(Sign::Mentioned);
        } else {
            return Sign::Present;
        }
    }
    sign
}

/// Up to so many words between two others, never across a sentence.
fn with_gaps(pattern: &str) -> String {
    pattern
        .replace("<0-1>", "(?:[a-z0-9]+ )?")
        .replace("<0-2>", "(?:[a-z0-9]+ ){0,2}")
        .replace("<0-3>", "(?:[a-z0-9,]+ ){0,3}")
        .replace("<0-4>", "(?:[a-z0-9,]+ ){0,4}")
        .replace("<0-6>", "(?:[a-z0-9,]+ ){0,6}")
        .replace("<face>", FACE)
        .replace("<cara>", CARA)
        .replace("<not>", NOT)
}

const NOT: &str = "(?:not|isnt|aint|wont|cant|cannot|doesnt|dont|didnt|hasnt|stopped|never|barely|hardly|unable to|no longer|stops|couldnt|wasnt|refuses to|isn|cnt|cant even|not even)";
const FACE: &str = "(?:face|faces|facial|muzzle|snout|throat|tongue|tounge|tonge|lips?|mouth|head|eyes?|eyelids?|jaws?|cheeks?|airway|nose)";
const CARA: &str = "(?:cara|carita|rostro|hocico|hociquito|trompa|trompita|garganta|lengua|labios?|boca|ojos|ojo|ojitos|parpados?|cabeza|morro|jeta|cachetes?|mejillas?|nariz|quijada)";

/// One sign a line; words end where a space stands.
const PATTERNS: &[&str] = &[
    // Collapse and consciousness.
    r" collap\w*| colaps\w*| collps\w*| colapse\w*",
    r" (?:pass|passed|passing|black|blacked|blacking) out ",
    r" faint(?:ed|ing|s)? ",
    r" uncon[cs]\w+| unconch\w+",
    r" unrespon\w+| nonresponsive | non responsive | comatose | (?:in|into|en) (?:a |un )?coma | coma diab\w*| lifeless | motionless ",
    r" <not> <0-2>(?:respond|responding|responds|responsive|react|reacting|waking|wake|wakes|moving|awake|conscious|come to|coming to|come round|come around|coming round|coming around|rousing|rouse|rousable)(?: |ing )",
    r" <not> <0-1>move ",
    r" <not> <0-1>(?:get up|getting up|stand|stand up|standing|standing up|walk|lift (?:his|her|its) head|hold (?:his|her|its) head)(?: up)? ",
    r" (?:hard|impossible|trying) to (?:wake|rouse) ",
    r" (?:is|went|goes|going|gone|all|hes|shes|its|and|are|got|completely|totally|just|body|legs) (?:limp|floppy) | limp (?:and|in my|as) | like a rag ?doll | out cold | lights out ",
    r" (?:he|she|it|dog|cat|puppy|kitten|pup|kitty|just|suddenly|and) (?:just |suddenly )?(?:dropped|went down|keeled over|toppled over|toppled|fell over|fell down|hit the floor)(?: (?:dead|down|over|to|like|on|,|\.|and|in|while|after|right))? ",
    r" (?:dropped|drop) dead | keeled over | fell over | falling over | falls over | fell to the (?:floor|ground) ",
    r" (?:lift\w*|rais\w*|pick up|picked up) <0-3>(?:paw|leg|head|arm)s? <0-3>(?:drops?|falls?|flops?|dropped|fell|flopped) | (?:levant\w*|alz\w*|suelt\w*) <0-3>(?:pata|patita|cabeza|brazo)s? <0-3>(?:caen?|desplom\w*) ",
    r" paraly[sz]\w+| cant move <0-2>(?:legs?|back|hind) ",
    // Breathing.
    r" <not> <0-2>(?:breath|breathe|breathing|breaths|breathes|breth|brething|breating) ",
    r" <not> <0-2>(?:get|getting|catch|catching|draw|take) <0-2>(?:air|breath|breaths) ",
    r" (?:trouble|struggl\w+|difficult\w*|hard|hardly|barely|labou?r\w*|problems?|gasp\w*|fight\w*|unable|wheez\w*|issues?|hardship|strain\w*|heaving) <0-4>breath\w* ",
    r" (?:gasp\w*|fight\w*|struggl\w*|starv\w*|desperate) (?:for|to get) (?:air|breath) ",
    r" breath\w* <0-4>(?:mouth open|open mouth|open mouthed|through (?:his|her|its|the) mouth) | (?:trying|tries|tried|fight\w*|struggl\w*|desperate|working|hard) <0-2>(?:get|pull|suck|draw|drag|gulp) <0-2>(?:air|breath) | (?:honking|rasping|whistling|gurgling|rattling|squeaking) <0-2>(?:breath\w*|air) ",
    r" breath\w* <0-2>(?:fast|faster|rapid\w*|quick\w*|heavy|heavily|heavier|weird\w*|funny|strange\w*|shallow\w*|odd\w*|hard|harder|bad\w*|labou?r\w*|difficult\w*|trouble|problems?|issues?|noisy|noisily|loud\w*|wrong|raspy|ragged|stopped|stops|slow\w*|erratic\w*|poorly|is off|like crazy) ",
    r" (?:fast|rapid|quick|heavy|weird|funny|strange|shallow|odd|noisy|loud|raspy|ragged|bad|no|open mouth|mouth) breath(?:ing|s)? ",
    r" gasp(?:s|ing|ed)? | suffocat\w+| chok(?:e|es|ed|ing) | asphyxi\w+| short of breath | out of breath | shortness of breath | wheez\w+",
    r" (?:he|she|hes|shes|turn|turned|turning|going|gone|went|goes) <0-1>(?:blue|purple|bluish) ",
    r" (?:blue|bluish|purple|grey|gray|white|pale) <0-1>(?:gums?|to(?:ngu|ung|ng)es?|lips?) ",
    r" (?:gums?|to(?:ngu|ung|ng)es?|lips?) <0-4>(?:blue|bluish|purple|grey|gray|white|pale) ",
    // Swelling of the face; hives.
    r" (?:swell\w*|swollen|swolen|swole|puff\w*|balloon\w*|blew up|blown up|blowing up|enlarged|inflat\w*) <0-6><face> ",
    r" <face> <0-6>(?:swell\w*|swollen|swolen|swole|puff\w*|balloon\w*|blew up|blown up|blowing up|huge|double the size|twice the size|inflat\w*|closing|closed up|closing up|tight) ",
    r" <face> <0-4>(?:(?:the )?size of a|(?:is |are |looks? )?like a) (?:balloon|melon|football|soccer ball|ball|basketball|pumpkin|grapefruit|watermelon|boxer|boxers|tennis ball|hippo|pufferfish) ",
    r" (?:hives?|hive) | welts? | wheals? | urticari\w+| nettle rash ",
    r" (?:bumps?|lumps|rash|rashes|spots|blotches|blisters) <0-2>(?:all over|everywhere|all around|head to toe) ",
    r" anaph\w+| anafil\w+| allergic (?:reaction|shock) | (?:in|into) shock | shock anafil\w+",
    // Seizures.
    r" si?ei?z(?:ure|ures|ing|ed|es|er|ers)? | seazure\w*| seisure\w*| seizur\w*| siezur\w*| ceasure\w*",
    r" convul\w+| combul\w+| convuc\w+| epilep\w+| grand mal | spasm(?:s|ing)? ",
    r" (?:a|having|had|has|of) fits? (?:\.|,|and|on|after|again|right|now|since|in|he|she|help|just|$)| fitt?ing | having (?:a )?fits? | (?:had|has) (?:a )?fits? ",
    r" eyes? <0-4>(?:roll\w*|rolled back|glazed|fixed|flicker\w*) | rolled? (?:his|her|its) eyes ",
    r" (?:paddl\w+|thrash\w+|jerking|twitching) <0-4>(?:foam\w*|froth\w*|floor|ground|legs|uncontroll\w*|violent\w*|side|all over|badly) ",
    r" (?:foam\w*|froth\w*) <0-2>(?:mouth) | shak\w+ (?:uncontroll\w*|violent\w*) | (?:stiff|rigid) and <0-2>(?:jerk\w*|shak\w*|paddl\w*|convul\w*) | (?:started|starts|keeps|is|hes|shes|was|were|are|body|legs|and|she|he|head) (?:jerking|convulsing|paddling) | (?:uncontroll\w*|violent\w*) (?:shak\w+|jerk\w*|twitch\w*|tremb\w*) ",
    // Bleeding.
    r" bleed\w* <0-6>(?:like a (?:tap|faucet|stuck pig|fountain)|heavily|heavy|badly|a lot|lots|profuse\w*|everywhere|out|nonstop|non stop|so much|like crazy|wont stop|not stopping|doesnt stop|uncontroll\w*|severe\w*|isnt stopping|cant stop|for (?:an|\d+) (?:hours?|minutes?)|to death|too much|a ton|through|all over|keeps (?:going|coming)|continu\w*) ",
    r" <not> <0-2>(?:stop\w*) <0-2>(?:bleed\w*|blood) | <not> <0-1>stop the (?:bleed\w*|blood) | keeps (?:on )?bleeding | bleeding and bleeding ",
    r" (?:heavy|heavily|severe|profuse|uncontroll\w*|massive|nonstop|serious|bad|constant) bleed\w* ",
    r" (?:lots|lot|loads|tons|ton|pool|pools|puddle|so much|too much|gush\w*|pour\w*|spurt\w*|spray\w*|covered in|soaked in|losing|lost) <0-2>blood ",
    r" (?:blood|bleed\w*) <0-4>(?:pump\w*|squirt\w*|soak\w*|dripping everywhere|running down)| (?:pump\w*|squirt\w*) <0-2>blood | (?:soaked|soaking|went) <0-4>through <0-4>(?:towels?|jeans|shirt|blanket|bandages?|gauze|rags?) ",
    r" blood <0-4>(?:everywhere|all over|pour\w*|gush\w*|spurt\w*|wont stop|not stopping|doesnt stop|isnt stopping|cant stop|stream\w*|spray\w*|keeps coming|coming out of (?:his|her|its) (?:nose|mouth)) ",
    r" (?:its|this is|is|have|got|an) (?:an |a real |now an )?emergency (?:\.|,|$|help|please|with|he|she|my|now|what)| emergency (?:$|\.|help|please|now|he|she|my)| respiratory (?:distress|arrest|failure) | (?:es|tengo|tenemos|una) (?:una )?emergencia (?:\.|,|$|ayuda|por|con|mi)| emergencia (?:$|\.|ayuda|mi)",
    r" h(?:a)?emorr?h?ag\w*| hemoraj\w*",
    // Overdose.
    r" overdos\w*| over dosed? | od ed ",
    r" (?:gave|given|injected|got|received|administered) <0-4>(?:whole|entire|full|all (?:of )?(?:the|that)) <0-1>(?:vial|bottle)(?: |s )",
    r" (?:ten|twenty|thirty|fifty|hundred|\d{2,}|[5-9]|five|six|seven|eight|nine) ?(?:times?|x) (?:the|too|more|as|his|her|its|what|over|bigger|stronger|larger|normal|dose)",
    r" (?:gave|given|injected|administered) <0-2>(?:\d{2,}|[5-9]|ten) ?(?:x|times|fold) ",
    r" (?:tenfold|ten fold|hundredfold) | (?:massive|huge|enormous|giant|lethal|gigantic) (?:over)?(?:dose|amount|overdose) | way way too much ",
    // Death and the heart.
    r" a stroke | heart attack | infarto | derrame cerebral ",
    r" (?:is|hes|shes|its|was|be|might be|looks?|just|has|almost|nearly|think|cat|dog) (?:dying|dead|died|die) | (?:dying|died|dead) ",
    r" heart <0-4>(?:stop\w*|not beating|isnt beating) | no (?:pulse|heartbeat|heart beat) | not breathing | cardiac arrest ",
    // Spanish: collapse and consciousness.
    r" de[sz]plom\w*| de[sz]ma(?:[yi]|ll)\w*| desvanec\w*| in?con[sc]+i?en\w*| inconsient\w*",
    r" (?:perdio|pierde|perdido|perdiendo|sin|perder|recupera) (?:el |la )?(?:conocimiento|cono?s?ciencia|consciencia|sentido) ",
    r" (?:no|sin|ni) (?:se |me |nos |lo |la |le )?(?:ha |esta )?(?:despiert\w*|desperta\w*|reaccion\w*|respond\w*|mueve\w*|moverse|respuesta) ",
    r" no (?:se )?(?:lo |la )?(?:puede|puedo|podemos|logr\w+|consig\w+|quiere|podia) (?:que )?(?:se )?(?:despert\w*|despiert\w*|mover\w*|parar\w*|levantar\w*|caminar|ponerse de pie|sostenerse|mantenerse|reaccion\w*|respond\w*) ",
    r" no (?:vuelve|volvio|vuelven|volvia|ha vuelto) en sip? | (?:dio|da|dando|dado) <0-2>(?:patatus|soponcio|telele|yeyo|sincope) ",
    r" no se (?:levanta|para|sostiene|tiene en pie|puede parar) ",
    r" (?:cayo|callo|cae|caido|caida|cayendo) <0-2>(?:redond\w|desplom\w+|de golpe|suelo|piso|al suelo|al piso|de lado|fulminad\w|seco|seca) | (?:tirad\w|tiradit\w|tendid\w) <0-4>(?:no|sin|suelo|piso) ",
    r" paralizad\w | paralisis | se (?:quedo|puso|queda) (?:ties[oa]|rigid[oa]|flacid[oa]|flojit[oa]|como trapo|inmovil) | inmovil ",
    // Spanish: breathing.
    r" no (?:puede |esta |le |me |se |consigue |logra )?(?:le )?(?:re[sz]pir\w*|resira\w*|entra (?:el )?aire) ",
    r" (?:dificultad\w*|trabajo|problemas?|apenas|casi no|fatig\w*|forz\w*|cuest\w*|costand\w*|esfuerzo|lucha\w*|sin poder|dejo de|deja de|paro de) <0-4>(?:re[sz]pir\w*|aire) ",
    r" re[sz]pir\w* <0-2>(?:mal|raro|rara|dificultad|rapido|rapid\w*|agitad\w*|trabajo|fuerte|forzad\w*|entrecortad\w*|pesad\w*|feo|superficial|con la boca|muy|ruidos\w*|apenas|poco|lento) ",
    r" (?:falta|faltando|faltaba) <0-2>aire | sin aire | (?:se|esta|estan) <0-1>(?:ahog\w+|asfixi\w+|atragant\w+|axfixi\w*|ahoj\w+) | ahogandose | asfixi\w+| atragant\w+| boquea\w*| paro respiratorio ",
    r" (?:lengua|encias?|labios?|boca|hocico) <0-2>(?:azul\w*|morad\w*|violeta\w*|gris\w*|blanc\w*|palid\w*|amoratad\w*) | (?:se|esta|quedo|poniendo|puso) <0-1>(?:azul|morad\w|amoratad\w|violeta) ",
    // Spanish: swelling of the face; hives.
    r" (?:hinch\w*|inch(?:ad|o|a)\w*|inflam\w*|inflad\w*|inflo|abultad\w*|deform\w*|ensanch\w*) <0-6><cara> ",
    r" <cara> <0-4>(?:hinch\w*|inch(?:ad|o|a)\w*|inflam\w*|inflad\w*|inflo|enorme|deform\w*|como (?:un |una |de )?(?:globo|balon|pelota|melon|sandia|boxeador|boxeadora|bola|calabaza|pez globo)) | garganta <0-4>cerrad\w* ",
    r" (?:cierra|cerro|cerrando|cerrandose) <0-2>garganta ",
    r" ronchas?| habon\w*| urticaria\w*| ronchit\w+| (?:granos|granitos|manchas|bultos|sarpullido) <0-2>(?:por todo|por todos|en todo|todo el cuerpo) ",
    r" reaccion alergica | (?:en|entro en) shock | choque anaf\w+",
    // Spanish: seizures.
    r" (?:un|le|los|con|tiene|tuvo|dio|otro|fuerte) ataques? (?:\.|,|epi\w*|y|de conv\w*|ahora|recien|despues|tras|en|otra|fuert\w*|ayuda|muy|a mi)| (?:le|tiene|tuvo|esta) <0-2>(?:un )?ataques? \.?",
    r" espasmos? | espuma <0-4>(?:boca|hocico) | (?:echa|sale|echando|saca|sacando|hace|tira|bota|botando) <0-2>espuma | espumarajo\w*| ojos <0-2>(?:blanco|voltead\w*|volte\w+|dados vuelta|idos) ",
    r" (?:ties[oa]s?|rigid[oa]s?|dur[oa]) (?:y|e) <0-2>(?:patale\w*|tembl\w*|sacud\w*|convul\w*) | patale\w* <0-2>(?:de lado|en el suelo|tirad\w) ",
    r" (?:tembl\w*|sacud\w*|patalea\w*) <0-4>(?:suelo|piso|control|descontrol\w*|violent\w*|espuma) ",
    // Spanish: bleeding.
    r" no (?:le |se |me |deja\w* de |para\w* de |podemos |puedo |para |logro )<0-2>(?:de )?(?:sangr\w+|hemorrag\w*)",
    r" sangr\w* <0-2>como (?:un |una )?(?:grifo|canilla|llave|fuente|canal|chorro) ",
    r" (?:sangr(?:a|ando|o|aba|e|ado)) <0-2>(?:much\w*|muchisim\w*|un monton|bastante|sin parar|a chorros?|demasiad\w*|abundante\w*|fuerte|no para|no se detiene|no le para|a mares|por la (?:boca|nariz)) ",
    r" (?:chorre\w*|brot\w*|borbot\w*|mana\w*|escurr\w*) <0-2>sangre | sangre <0-3>(?:chorre\w*|brot\w*|borbot\w*|a borbotones|toallas?|empap\w*) | (?:empap\w*|toallas?|trapos?) <0-4>sangre ",
    r" (?:mucha|muchisima|demasiada|tanta|chorros? de|charcos? de|perdiendo|pierde|perdio|llen[oa] de|monton de|banad[oa] en) <0-1>sangre | sangre <0-2>(?:por todos|por todas|por todo|no para|sin parar|a chorros?|no se detiene|sale mucha) | hemorrag\w*| emorragi\w*| desangr\w*",
    // Spanish: overdose.
    r" sobredosi\w*| sobre dosis ",
    r" (?:puse|di|inyecte|aplique|meti|puso|dio|pusimos|dimos|administre|pinche|inyecto|aplico|pusieron|dieron) <0-4>(?:todo|entero|completo|toda) <0-2>(?:frasco|frasquito|vial|botella|ampolla|botellita)",
    r" (?:puse|di|inyecte|aplique|meti|puso|dio|pusimos|dimos|administre) <0-4>(?:frasco|vial|botella|ampolla) (?:entero|entera|completo|completa) ",
    r" (?:diez|veinte|cien|\d{2,}|[5-9]|cinco|seis|siete|ocho|nueve) veces (?:la|mas|lo|el|de|su|mayor)",
    // Spanish: death and the heart.
    r" (?:muriendo|muere|murio|murien\w*|muert[oa]|fallec\w*|agoniz\w*|morir|moribund\w*) ",
    r" corazon <0-4>(?:no|paro|dejo|parado|detuvo) | no le (?:late|palpita) | (?:no|sin) <0-2>(?:pulso|latidos?) | paro cardiaco ",
];

static SIGNS: LazyLock<Regex> = LazyLock::new(|| {
    // A trailing space belongs to the next word too, so it is never consumed
    // by what follows: each pattern is tried at every word on its own.
    compile(
        &PATTERNS
            .iter()
            .map(|p| format!("(?:{p})"))
            .collect::<Vec<_>>()
            .join("|"),
    )
});

/// "no", then only words that carry nothing, then the sign.
static DENIED: LazyLock<Regex> = LazyLock::new(|| {
    compile(
        r" (?:no|not|never|without|hasnt|hasn|havent|didnt|doesnt|isnt|wasnt|arent|nor|zero|free of|sin|ningun|ninguna|nunca|tampoco|ni|negative for|nothing like|stopped having|no more)(?: (?:a|an|any|the|more|had|have|has|having|been|seen|see|any|sign|signs|of|further|new|so|far|really|got|hay|hubo|ha|tuvo|tiene|tenido|le|dio|dieron|se|mas|esta|estan|un|una|signos|senales|presenta|presento|vimos|vi|visto|salieron|salio))*$",
    )
});

/// A question about signs in general, before the sign is named.
static ASKED: LazyLock<Regex> = LazyLock::new(|| {
    compile(
        r" (?:can|could|does|do|will|would|may|might) (?:it|this|that|the|these|they|too)\b.* (?:cause|causes|lead|give|make|mean|trigger)\b| (?:is|are) (?:a |an |the )?$| (?:risk|chance|chances|danger|odds|likelihood|possibility|side effects?|history|watch (?:out )?for|look (?:out )?for|worried about|afraid of|scared of|fear of|in case of|prevent|prevents|happens if|do if|if (?:he|she|it|there|my)\b.{0,30}|what is (?:a|an)?|what are|used to have|signs of|symptoms of|does he get|treats|treat|medicine for|meds for|pills for)(?: (?:a|an|any|the|of|or|is|has|have|gets|starts|goes))*$| (?:puede|pueden|podria|podrian) (?:\w+ ){0,3}(?:causar|provocar|dar|darle|producir|tener)(?: (?:un|una|le))*$| (?:riesgo|peligro|efectos? secundarios?|posibilidad|miedo|historial|antecedentes|que hago si|que pasa si|y si|si le|si tiene|en caso de|medicina para|pastillas? para|remedio para)(?: (?:de|a|que|un|una|le|la|el|da|dan|tiene|tenga|se))*$| (?:last year|years ago|months ago|el ano pasado|hace anos|hace meses|before the treatment|as a puppy|as a pup|as a kitten|de cachorro|de cachorra).*$",
    )
});

/// A question about signs in general, after the sign is named.
static ASKED_AFTER: LazyLock<Regex> = LazyLock::new(|| {
    compile(
        r"^ ?(?:is |are |as |be )?(?:a |an )?(?:possible|likely|common|normal|side effects?|risk|dangerous|posible|probable|comun|normal|un efecto|pills|meds|medication|medicine|tablets|es posible|es normal|last year|years ago|months ago|el ano pasado|hace anos|hace meses)\b",
    )
});

/// Words that point at a sign that is there now.
static THIS_ONE: LazyLock<Regex> =
    LazyLock::new(|| compile(r" (?:he|she|hes|shes|having|had|tiene|tuvo|esta) "));

/// Phones and fridges die too.
static NOT_THE_ANIMAL: LazyLock<Regex> = LazyLock::new(|| {
    compile(
        r"(?: (?:yo|casi|que|y|ya|no|por poco) (?:me|nos)$)| (?:ducha|regadera|motor|moto|horno|lavadora|lavarropas|licuadora|radio|tv|tele|engine|shower|boiler|sink|washing machine|tail|ears?|cola|orejas?|phone|battery|laptop|fridge|car|charger|tablet|computer|power|wifi|liquid|cap|caps|water|vial|bottle|powder|solution|medicine|clinic|vet|nobody|app|bot|celular|telefono|bateria|carro|coche|movil|heladera|nevera|refri|luz|liquido|tapa|agua|polvo|frasco|botella|medicina|clinica|veterinaria|veterinario|nadie)(?: (?:is|was|has|just|almost|nearly|had|se|me|esta|que|ya))*$",
    )
});

/// "se me murio el celular", "se me cayo la aguja"; "se me desmayo el perro" is an emergency.
static NOT_THE_ANIMAL_AFTER: LazyLock<Regex> = LazyLock::new(|| {
    compile(
        r"^ ?(?:el|la|mi|todo el|tu)? ?(?:celular|celu|telefono|movil|bateria|pila|carro|coche|auto|moto|computadora|compu|tablet|internet|wifi|luz|planta|plantas|reloj|alarma|motor|app) ",
    )
});

fn compile(pattern: &str) -> Regex {
    let pattern = with_gaps(pattern)
        .replace(r"\w", "[a-z0-9]")
        .replace(r"\d", "[0-9]");
    regex::RegexBuilder::new(&pattern.replace(r"\b", r"(?-u:\b)"))
        .dfa_size_limit(16 << 20)
        .size_limit(64 << 20)
        .build()
        .expect("the patterns are constants that tests compile")
}
