/**
 * Words that meter files use in other languages than English (German, French, Spanish, Italian, Dutch, Portuguese, Polish,
 * Swedish, Danish, Norwegian), each told as the English word that {@link wordsOf} hands on. One list, so that every place that
 * reads a header, a direction or a kind of rows understands all of them. Matched without accents, letter for letter.
 */

/** Phrases that mean something else than their words one by one; matched in a whole text. */
const PHRASES: readonly (readonly [RegExp, string])[] = [
  // "Net" is the grid in Dutch, Danish and Norwegian where a word of place stands before it (`aan net`, `til nettet`).
  [
    /\b(?:aus|vom|vanuit|uit|van|fra|fran) (?:dem |het |de |det )?(?:strom|el|stroom|elektriciteits)?(?:netz?|nett|nat)(?:et)?\b|\b(?:du|depuis le) reseau\b|\b(?:de|desde) la red\b|\bdalla rete\b|\bda rede\b|\bz sieci\b/g,
    'from grid',
  ],
  [
    /\b(?:ins|ans|an das|in das|naar|aan|op|til|till|ud pa|ut pa|mot) (?:het |de |det )?(?:strom|el|stroom|elektriciteits)?(?:netz?|nett|nat)(?:et)?\b|\b(?:au|vers le|sur le) reseau\b|\b(?:a|hacia) la red\b|\b(?:alla|in) rete\b|\bpara a rede\b|\bdo sieci\b/g,
    'to grid',
  ],
  // Spanish registers print the active energy that comes in and goes out as `AE_kWh` and `AS_kWh`.
  [/^ae(?= [km]?wh$)/g, 'import'],
  [/^as(?= [km]?wh$)/g, 'export'],
  [
    /\b(?:voriges jahr|letztes jahr|ano anterior|annee precedente|anno precedente|vorig jaar|forrige ar)\b/g,
    'previous',
  ],
  [/\bheures? creuses?\b|\bfora (?:de )?ponta\b/g, 'offpeak'],
  [/\bheures? pleines?\b|\bhoras? punta\b/g, 'peak'],
  [/\bhoras? llan[oa]s?\b/g, 'shoulder'],
  [/\bhoras? valle\b/g, 'offpeak'],
  [/\bfascia(?: oraria)? (?=f[123])/g, ''],
  [/\bperiodo (?=p[1-6]\b)/g, ''],
  // A register by its number; a price of it is a price all the same.
  [/\btari(?:ef|ff|f|fa|ffa) (?=[1-4]\b)/g, 't'],
  [
    /\bdata e ora\b|\bdata (?:e )?hora\b|\bdatum (?:und|en|och) (?:uhr)?(?:zeit|tijd|tid)\b|\bdate et heure\b|\bfecha y hora\b/g,
    'date time',
  ],
  [/\b(?:quarto d ora|quart d heure|quarto de hora|cuarto de hora)\b/g, 'interval'],
  [
    /\bpoint de livraison\b|\bpunto di prelievo\b|\bpunto de suministro\b|\bpoint de (?:mesure|comptage)\b/g,
    'meter point',
  ],
  [
    /\b(?:numero|code|codigo|codice|nummer|nr|no) (?:de |del |di |du )?(?:compteur|contador|contatore|pdl|prm|cups|pod|meter)\b/g,
    'meter number',
  ],
  [/\bcharges? controlees?\b|\bcarico controllato\b|\bgesteuerte last\b/g, 'controlled load'],
  [
    /\bauto ?consom[a-z]*|\bauto ?consum[a-z]*|\beigen ?verbrauch\w*|\beigen ?verbruik|\begen(?:an)? ?forbrug\w*|\bauto ?consumo\b|\bself ?(?:consum\w+|use)/g,
    'selfuse',
  ],
];

/** Single words, by how they begin (or as a whole, where `$` ends them). The first that fits counts. */
const WORDS: readonly (readonly [RegExp, string])[] = [
  // Export before import: "Rücklieferung", "Netzeinspeisung" hold words of both.
  [
    /^(?:netz|strom|pv|uber|ueber|ruck|rueck|teil|voll|gesamt)*(?:einspeis|rucklief|ruecklief|uberschuss|ueberschuss)/,
    'export',
  ],
  [
    /^(?:ruck|rueck)(?:lief|speis|gabe)|^abgabe$|^abgegeb|^netzabgabe|^verkauft?$|^teruglever|^teruggelever|^terugspijs|^invoeding|^ingevoed|^verkocht|^reinjec|^injec|^injet|^inyec|^vertid|^excedent|^exportad|^exporte|^immess|^immiss|^cedut|^vendut|^cedid|^vendid|^vendue?s?$|^revente|^eksport|^oddan|^wprowadz|^nadwyz|^inmat|^innmat|^utmat|^overskott|^overskud|^levereret|^salg$|^solgt$|^sald$/,
    'export',
  ],
  [
    /^(?:netz|strom)?bezug|^(?:netz|strom)bezog|^bezogen|^(?:netz)?entnahme|^entnommen|^einkauf$|^gekauft$|^gekocht$|^(?:net)?afname|^afgenomen|^soutir|^prelev|^preliev|^importad|^importe|^importiert|^pobran|^pobor|^inkop|^kopt$|^kob(?:t|te)?$|^kjop|^aftag$|^comprad|^achetee?s?$|^acquistat/,
    'import',
  ],
  [/^levering|^geleverd|^levert$|^leveret$|^levererat?$|^levererad$|^entregad/, 'delivered'],
  // A German meter delivers to the home where nothing else is bought, and to the grid beside what is.
  [/^(?:strom|energie)?lieferung|^geliefert/, 'supplied'],
  [
    /^(?:strom|energie|gesamt|haus|el)*verbrauch|^(?:stroom|energie|elektra)*verbruik|^conso$|^consom|^consum(?:o|i|os|ida|ido|ata|ato|ption|ed|ptie)$|^forbruk|^forbrug|^forbrukning|^zuzycie|^uttag/,
    'consumption',
  ],
  [
    /^(?:pv|strom|solar|zonne|eigen|netto)*(?:erzeug|produktion|productie|ertrag)|^production$|^produc(?:cion|ao|tie|ido|ida)$|^produzi|^produkcj|^produks|^prodott|^prodotta|^generacion|^generad|^geracao|^opwek|^opbreng/,
    'production',
  ],
  [/^(?:photovoltai|fotovolta)/, 'solar'],
  [/^stand(?:en)?$|^zahlerst|^zaehlerst|^meterst|^malarst|^malerst|^zahlwerk/, 'index'],
  [
    /^(?:zahl|zaehl)(?:er|punkt)(?:nummer|nr|bez)?|^messlok|^messstelle|^meter(?:ing|nummer|nr$)|^compteur|^contador|^contatore|^licznik/,
    'meter',
  ],
  [/^(?:temperat|lufttemp|aussentemp)/, 'temperature'],
  [/^gaz$|^gas(?:verbrauch|verbruik|menge)?$/, 'gas'],
  [/^(?:wasser|eau|agua|acqua)$/, 'water'],
  [/^(?:kosten|cout|couts|coste|costo|custo|kostnad|koszt|betrag|montant|importo)$/, 'cost'],
  [/^(?:preis|prix|precio|prezzo|prijs|preco|pris|cena|spotpreis|strompreis|borsenpreis|marktpreis)$/, 'price'],
  [
    /^(?:globalstrahlung|einstrahlung|rayonnement|irradiacion|irradiance|irradiation|radiation|strahlung|irraggiamento|zonnestraling|radiazione|radiacion)$/,
    'irradiance',
  ],
  [/^(?:zeitstempel|horodate|horodatage|tijdstip|tijdstempel|zeitpunkt|marcatemporal)$/, 'timestamp'],
  [/^(?:datum|fecha|dato)$/, 'date'],
  [/^(?:viertelstunde|kwartier|quart|intervalo|intervallo|intervall|periodo|periode)$/, 'interval'],
  [/^(?:stunde|heure|heures|hora|horas|ora|ore|uur|timme|godzina)$/, 'hour'],
  [/^(?:uhrzeit|zeit|tijd|tid|czas|tempo)$/, 'time'],
  [/^(?:beginn|anfang|debut|inicio|inizio|aanvang|begintijd|startzeit|start(?:datum|tid|tijd))$/, 'start'],
  [/^(?:ende|fin|fine|fim|einde|eindtijd|endzeit|endzeitpunkt|slut|koniec)$/, 'end'],
  [/^(?:tag|jour|dia|giorno|dag|dzien)$/, 'day'],
  [/^(?:woche|semaine|semana|settimana|uge|vecka|uke)$/, 'week'],
  [/^(?:monat|mois|mes|mese|maand|maned|manad|miesiac)$/, 'month'],
  [/^(?:tages|dag|dags)(?:summe|total|totaal|sum|summa)$/, 'day total'],
  [/^(?:wochen|week|uge|vecko)(?:summe|total|totaal|sum|summa)$/, 'week total'],
  [/^(?:monats|maand|maneds|manads)(?:summe|total|totaal|sum|summa)$/, 'month total'],
  [
    /^schein(?:arbeit|energie|leistung)|^apparent[ei]?$|^aparente$|^schijnbaar|^skenbar|^tilsyneladende$|^tilsynelatende$|^pozorn/,
    'apparent',
  ],
  [
    /^blind(?:arbeit|energie|leistung|strom|vermogen|stroom)|^reactiv[aeo]s?$|^reattiv[aeo]$|^reativ[ao]$|^reaktiv|^biern/,
    'reactive',
  ],
  [/^(?:wirkarbeit|energie|energia|energi|arbeit)$/, 'energy'],
  [/^(?:strom|elektrizitat|elektriciteit|electricite|electricidad|elettricita|eletricidade|stroom)$/, 'electricity'],
  [/^(?:wirkleistung|leistung|puissance|potencia|potenza|vermogen|effekt|moc)$/, 'power'],
  [/^(?:einheit|unite|unidad|unita|eenheid|unidade|enhet|enhed|jednostka)$/, 'unit'],
  [/^(?:wert|messwert|valeur|valor|valore|waarde|varde|vaerdi|verdi|wartosc)$/, 'value'],
  [/^(?:richtung|energierichtung|sens|direccion|direzione|richting|sentido|riktning|retning)$/, 'direction'],
  [/^(?:obiskennzahl|kennzahl|obiscode)$/, 'obis'],
  [/^(?:qualitat|estado|stato|statut|etat|messwertstatus|calidad|qualita|kwaliteit)$/, 'quality'],
  [
    /^(?:geschatzt|geschaetzt|ersatzwert|estimee?|estimado|estimada|stimato|stimata|geschat|estimerad|szacowan)/,
    'estimated',
  ],
  [/^(?:gemessen|wahrer|mesuree?|medido|misurato|gemeten)$/, 'measured'],
  [
    /^(?:summe|sum|gesamt|gesamtsumme|endsumme|zwischensumme|insgesamt|somme|totale|totaal|suma|soma|somma|summa|totaux)$/,
    'total',
  ],
  [/^(?:hochtarif|haupttarif|hochlast|ht|hp|(?:hoog|normaal)(?:tarief)?)$/, 'high'],
  [/^(?:niedertarif|nebentarif|schwachlast|nt|hc|(?:laag|dal)(?:tarief)?|nachttarief)$/, 'low'],
  [/^(?:piek(?:tarief)?|punta)$/, 'peak'],
  [/^llan[oa]$/, 'shoulder'],
  [/^valle$/, 'offpeak'],
  [/^superdal$/, 'super'],
  [/^(?:nachtstrom|nacht|nuit|noche|notte|noite|natt)$/, 'night'],
  [/^tagstrom$/, 'day'],
  [/^(?:netz|nettet|natet|elnet|elnettet|elnatet|stromnett|stromnettet|stromnetz|reseau|rete|rede|siec)$/, 'grid'],
  [/^(?:vorjahr|vorjahres|fjor)$/, 'previous'],
  [/^(?:haus|haushalt|maison|casa|huis|hushall)$/, 'home'],
  [/^(?:batterie|bateria|batteria|batterij|speicher|akku|accu)/, 'battery'],
];

/** Words that mean a start or an end where they stand alone or beside a date; anywhere else they are "of" and "at". */
const PREPOSITIONS: readonly (readonly [RegExp, string])[] = [
  [/^(?:von|ab|van|desde|dalle|od|fra|fran|de)$/, 'start'],
  [/^(?:bis|tot|hasta|alle|til|till|do|a)$/, 'end'],
];

/** Letters without their accents: `Zählerstand` is `zahlerstand`, `Rücklieferung` is `rucklieferung`. */
export function plainLetters(text: string): string {
  return text
    .normalize('NFD')
    .replace(/\p{M}+/gu, '')
    .replace(/ß/g, 'ss')
    .replace(/[øØ]/g, 'o')
    .replace(/[łŁ]/g, 'l')
    .replace(/[æÆ]/g, 'ae');
}

/** Dutch, Danish and Norwegian words of a meter: beside one of them "net" is the grid, and what is netted is "netto". */
const NET_IS_GRID =
  /\b(?:afname|\w*verbruik|\w*lever(?:ing|d|et)|invoeding|opwek\w*|stroom|elektra|forbru[gk]\w*|kobt?|kjop\w*|salg|solgt|eksport\w*)\b/;

/** A text of lower-case words, those of other languages told in English. */
export function inEnglish(text: string): string {
  let plain = /[^\x20-\x7e]/.test(text) ? plainLetters(text) : text;
  for (const [phrase, english] of PHRASES) plain = plain.replace(phrase, english);
  if (NET_IS_GRID.test(plain)) plain = plain.replace(/\bnett?\b/g, 'grid');
  const words = plain.split(' ');
  const told = words.map((word) => WORDS.find(([form]) => form.test(word))?.[1] ?? word);
  if (told.length > 2 || (told.length === 2 && !told.some((word) => /^(?:date|time|hour|timestamp)$/.test(word))))
    return told.join(' ');
  return told.map((word) => PREPOSITIONS.find(([form]) => form.test(word))?.[1] ?? word).join(' ');
}

/** How months begin, without accents; a longer beginning where two months share one. */
const MONTHS: readonly RegExp[] = [
  /^(?:jan|gen|ene|sty)/,
  /^(?:feb|fev|fbr|lut)/,
  /^(?:mar|mae|maa|mrt|mrz)/,
  /^(?:apr|avr|abr|kwi)/,
  /^(?:may|mai|mei|mag|maj)/,
  /^(?:jun|juin|giu|cze)/,
  /^(?:jul|juil|lug|lip)/,
  /^(?:aug|aou|ago|sie)/,
  /^(?:sep|set|wrz)/,
  /^(?:oct|okt|ott|out|paz)/,
  /^(?:nov|lis)/,
  /^(?:dec|dez|dic|des|gru)/,
];

/** The number of a month from its name in any of the languages, 0 where it is none. */
export function monthOf(name: string): number {
  const plain = plainLetters(name).toLowerCase();
  return MONTHS.findIndex((form) => form.test(plain)) + 1;
}
