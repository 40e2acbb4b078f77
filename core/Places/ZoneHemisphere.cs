using System.Collections.Frozen;

namespace PavementWatch.Core.Places;

/// <summary>On which side of the equator a time zone lies, of those whose clocks do not say it by their summer time.</summary>
/// <remarks>
/// Source: <c>zone.tab</c> and the links of the time zone database (IANA, public domain), edition 2025b: zones with the same
/// offset in January and July 2025, by the latitude of their place, under all their names. Left out are those with land on both sides: of
/// Brazil, Colombia, Congo (both), Ecuador, Equatorial Guinea, Gabon, Indonesia, Kenya, Kiribati, the Maldives, São Tomé,
/// Somalia and Uganda (from memory). A name that is not known lies on either side.
/// </remarks>
internal static class ZoneHemisphere
{
    private static readonly FrozenSet<string> South = Names(
        """
        Africa/Blantyre Africa/Bujumbura Africa/Dar_es_Salaam Africa/Gaborone Africa/Harare Africa/Johannesburg Africa/Kigali Africa/Luanda Africa/Lusaka
        Africa/Maputo Africa/Maseru Africa/Mbabane Africa/Windhoek America/Araguaina America/Argentina/Buenos_Aires America/Argentina/Catamarca
        America/Argentina/ComodRivadavia America/Argentina/Cordoba America/Argentina/Jujuy America/Argentina/La_Rioja America/Argentina/Mendoza
        America/Argentina/Rio_Gallegos America/Argentina/Salta America/Argentina/San_Juan America/Argentina/San_Luis America/Argentina/Tucuman
        America/Argentina/Ushuaia America/Asuncion America/Bahia America/Buenos_Aires America/Campo_Grande America/Catamarca America/Cordoba America/Coyhaique
        America/Cuiaba America/Eirunepe America/Fortaleza America/Jujuy America/La_Paz America/Lima America/Maceio America/Mendoza America/Montevideo
        America/Noronha America/Porto_Acre America/Porto_Velho America/Punta_Arenas America/Recife America/Rio_Branco America/Rosario America/Sao_Paulo
        Antarctica/Casey Antarctica/Davis Antarctica/DumontDUrville Antarctica/Mawson Antarctica/Palmer Antarctica/Rothera Antarctica/Syowa Antarctica/Vostok
        Asia/Dili Atlantic/South_Georgia Atlantic/St_Helena Atlantic/Stanley Australia/Brisbane Australia/Darwin Australia/Eucla Australia/Lindeman
        Australia/North Australia/Perth Australia/Queensland Australia/West Brazil/Acre Brazil/DeNoronha Brazil/East Indian/Antananarivo Indian/Chagos
        Indian/Christmas Indian/Cocos Indian/Comoro Indian/Kerguelen Indian/Mahe Indian/Mauritius Indian/Mayotte Indian/Reunion Pacific/Apia
        Pacific/Bougainville Pacific/Efate Pacific/Enderbury Pacific/Fakaofo Pacific/Fiji Pacific/Funafuti Pacific/Gambier Pacific/Guadalcanal Pacific/Kanton
        Pacific/Marquesas Pacific/Nauru Pacific/Niue Pacific/Noumea Pacific/Pago_Pago Pacific/Pitcairn Pacific/Port_Moresby Pacific/Rarotonga Pacific/Samoa
        Pacific/Tahiti Pacific/Tongatapu Pacific/Wallis US/Samoa
        """);

    private static readonly FrozenSet<string> North = Names(
        """
        Africa/Abidjan Africa/Accra Africa/Addis_Ababa Africa/Algiers Africa/Asmara Africa/Asmera Africa/Bamako Africa/Bangui Africa/Banjul Africa/Bissau
        Africa/Casablanca Africa/Conakry Africa/Dakar Africa/Djibouti Africa/Douala Africa/El_Aaiun Africa/Freetown Africa/Juba Africa/Khartoum Africa/Lagos
        Africa/Lome Africa/Monrovia Africa/Ndjamena Africa/Niamey Africa/Nouakchott Africa/Ouagadougou Africa/Porto-Novo Africa/Timbuktu Africa/Tripoli
        Africa/Tunis America/Anguilla America/Antigua America/Aruba America/Atikokan America/Bahia_Banderas America/Barbados America/Belize
        America/Blanc-Sablon America/Cancun America/Caracas America/Cayenne America/Cayman America/Chihuahua America/Coral_Harbour America/Costa_Rica
        America/Creston America/Curacao America/Danmarkshavn America/Dawson America/Dawson_Creek America/Dominica America/El_Salvador America/Fort_Nelson
        America/Grenada America/Guadeloupe America/Guatemala America/Guyana America/Hermosillo America/Jamaica America/Kralendijk America/Lower_Princes
        America/Managua America/Marigot America/Martinique America/Mazatlan America/Merida America/Mexico_City America/Monterrey America/Montserrat
        America/Panama America/Paramaribo America/Phoenix America/Port_of_Spain America/Puerto_Rico America/Regina America/Santo_Domingo America/St_Barthelemy
        America/St_Kitts America/St_Lucia America/St_Thomas America/St_Vincent America/Swift_Current America/Tegucigalpa America/Tortola America/Virgin
        America/Whitehorse Asia/Aden Asia/Almaty Asia/Amman Asia/Anadyr Asia/Aqtau Asia/Aqtobe Asia/Ashgabat Asia/Ashkhabad Asia/Atyrau Asia/Baghdad
        Asia/Bahrain Asia/Baku Asia/Bangkok Asia/Barnaul Asia/Bishkek Asia/Brunei Asia/Calcutta Asia/Chita Asia/Choibalsan Asia/Chongqing Asia/Chungking
        Asia/Colombo Asia/Dacca Asia/Damascus Asia/Dhaka Asia/Dubai Asia/Dushanbe Asia/Harbin Asia/Ho_Chi_Minh Asia/Hong_Kong Asia/Hovd Asia/Irkutsk
        Asia/Istanbul Asia/Kabul Asia/Kamchatka Asia/Karachi Asia/Kashgar Asia/Kathmandu Asia/Katmandu Asia/Khandyga Asia/Kolkata Asia/Krasnoyarsk
        Asia/Kuala_Lumpur Asia/Kuching Asia/Kuwait Asia/Macao Asia/Macau Asia/Magadan Asia/Manila Asia/Muscat Asia/Novokuznetsk Asia/Novosibirsk Asia/Omsk
        Asia/Oral Asia/Phnom_Penh Asia/Pyongyang Asia/Qatar Asia/Qostanay Asia/Qyzylorda Asia/Rangoon Asia/Riyadh Asia/Saigon Asia/Sakhalin Asia/Samarkand
        Asia/Seoul Asia/Shanghai Asia/Singapore Asia/Srednekolymsk Asia/Taipei Asia/Tashkent Asia/Tbilisi Asia/Tehran Asia/Thimbu Asia/Thimphu Asia/Tokyo
        Asia/Tomsk Asia/Ulaanbaatar Asia/Ulan_Bator Asia/Urumqi Asia/Ust-Nera Asia/Vientiane Asia/Vladivostok Asia/Yakutsk Asia/Yangon Asia/Yekaterinburg
        Asia/Yerevan Atlantic/Cape_Verde Atlantic/Reykjavik Canada/Saskatchewan Canada/Yukon Europe/Astrakhan Europe/Istanbul Europe/Kaliningrad Europe/Kirov
        Europe/Minsk Europe/Moscow Europe/Samara Europe/Saratov Europe/Simferopol Europe/Ulyanovsk Europe/Volgograd Hongkong Iceland Iran Jamaica Japan
        Kwajalein Libya Mexico/BajaSur Mexico/General PRC Pacific/Chuuk Pacific/Guam Pacific/Honolulu Pacific/Johnston Pacific/Kosrae Pacific/Kwajalein
        Pacific/Majuro Pacific/Midway Pacific/Palau Pacific/Pohnpei Pacific/Ponape Pacific/Saipan Pacific/Truk Pacific/Wake Pacific/Yap ROC ROK Singapore
        Turkey US/Arizona US/Hawaii W-SU
        """);

    /// <summary>Whether all of a zone lies north; <c>false</c> when all of it lies south, <c>null</c> when some does or nobody knows.</summary>
    public static bool? IsNorth(string zone) => North.Contains(zone) ? true : South.Contains(zone) ? false : null;

    private static FrozenSet<string> Names(string text) =>
        text.Split([' ', '\n', '\r'], StringSplitOptions.RemoveEmptyEntries).ToFrozenSet(StringComparer.OrdinalIgnoreCase);
}
