import type { health as original } from '../en/health.ts';

export const health: Record<keyof typeof original, string> = {
  'call.collector.disk': 'die Platte des Sammlers ist zu {percent} % voll',
  'call.collector.short.disk': 'Platte {percent} % voll',
  'call.collector.do.disk': 'Platz schaffen: bei 92 % gehen die ältesten Werte verloren',
  'call.collector.disk-full': 'die Platte ist zu {percent} % voll: kein Wert wird mehr gespeichert',
  'call.collector.short.disk-full': 'Platte voll, nichts wird gespeichert',
  'call.collector.do.disk-full':
    'sofort Platz schaffen; der Broker hebt auf, was in der Zeit kommt',
  'call.collector.topic-fast': '{topic} sendet mehr als 20 Meldungen in der Sekunde',
  'call.collector.short.topic-fast': '{topic} sendet zu schnell',
  'call.collector.do.topic-fast': 'ansehen, was {topic} sendet; nichts davon geht verloren',
  'call.collector.uplink-behind': 'die lange Geschichte ist {minutes} min zurück: {fault}',
  'call.collector.short.uplink-behind': 'lange Geschichte {minutes} min zurück',
  'call.collector.do.uplink-behind':
    'den Server der langen Geschichte ansehen; hier geht nichts verloren',
  'call.collector.clock-unsynchronised': 'die Uhr des Sammlers folgt keinem Zeitserver',
  'call.collector.short.clock-unsynchronised': 'kein Zeitserver',
  'call.collector.do.clock-unsynchronised':
    'auf dem Rechner des Sammlers einen Zeitserver einrichten',
  'call.collector.clock-off': 'die meisten Geräte gehen der Uhr des Sammlers {seconds} s vor',
  'call.collector.short.clock-off': 'Uhr {seconds} s falsch',
  'call.collector.do.clock-off': 'die Uhr des Sammlers stellen: die Werte werden nicht gewertet',
  'call.collector.judge-behind': 'kein Urteil seit {seconds} s; die Werte werden gespeichert',
  'call.collector.short.judge-behind': 'kein Urteil seit {seconds} s',
  'call.collector.do.judge-behind': 'den Rechner ansehen, auf dem der Sammler läuft',
  'call.collector.broker-fault': 'der Broker tut nicht, was nötig ist: {fault}',
  'call.collector.short.broker-fault': 'der Broker: {fault}',
  'call.collector.do.broker-fault':
    'die Einrichtung des Brokers ansehen: setwell doctor sagt, was fehlt',
};
