"""Invented makers, each in an alphabet that a label or a document of a room may need."""

MAKERS = [
    "Kanülenwerk Möwe & Söhne, Größe ½",
    "Zakład Igieł „Żółw”, Łąka",
    "Jehlárna Čáp, Třešňová Říčka",
    "Tű- és Csőgyár Kőrösfűz",
    "İğneci Şahin, Çınaraltı",
    "Εργοστάσιο Βελόνα, Ίσκιος",
    "Завод «Щегол», Ёлкино",
    "Фабрика голок «Ґава», Їжаківка",
    "Xưởng kim tiêm Cò Trắng, Đồng Lúa",
]

# No character of their own: E with a dot below and an acute, J with a caron, Cyrillic A with an acute.
MARKED = "Ilé Abẹ́rẹ́ Ẹ́lẹ́ṣin, J̌, Игла́"
