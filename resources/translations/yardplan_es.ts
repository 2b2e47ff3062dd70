<?xml version="1.0" encoding="utf-8"?>
<!DOCTYPE TS>
<TS version="2.1" language="es" sourcelanguage="en">
<context>
    <name>AboutDialog</name>
    <message>
        <source>About yardplan</source>
        <translation>Acerca de yardplan</translation>
    </message>
    <message>
        <source>Best sun is the worst time for heavy work. Plan rest, shade and water.</source>
        <translation>El mejor sol es la peor hora para el trabajo pesado. Planifique descanso, sombra y agua.</translation>
    </message>
    <message>
        <source>Cautions</source>
        <translation>Precauciones</translation>
    </message>
    <message>
        <source>Change and carry molds with equipment made for the load, operated by trained people, and keep everyone from under it.</source>
        <translation>Cambie y lleve los moldes con equipo hecho para la carga, manejado por personas formadas, y no deje a nadie debajo.</translation>
    </message>
    <message>
        <source>Concentrated light</source>
        <translation>Luz concentrada</translation>
    </message>
    <message>
        <source>Electricity</source>
        <translation>Electricidad</translation>
    </message>
    <message>
        <source>Hot molds</source>
        <translation>Moldes calientes</translation>
    </message>
    <message>
        <source>It blinds, burns and sets fire at a distance. Keep out of the beams, wear the eye protection that your assessment asks for, and have mirrors stowed before anyone works at a chamber.</source>
        <translation>Ciega, quema y prende fuego a distancia. Manténgase fuera de los haces, lleve la protección ocular que pide su evaluación y haga recoger los espejos antes de que nadie trabaje en una cámara.</translation>
    </message>
    <message>
        <source>Lifting</source>
        <translation>Cargas</translation>
    </message>
    <message>
        <source>Molds and parts burn skin long after the heat has ended. A planned demold time is no leave to open: measure first, and wear gloves and clothes made for it.</source>
        <translation>Los moldes y las piezas queman la piel mucho después de acabar el calor. Una hora de desmoldeo planificada no es permiso para abrir: mida primero, y lleve guantes y ropa hechos para ello.</translation>
    </message>
    <message>
        <source>PV strings are live whenever the sun shines, and batteries can give deadly currents. Only qualified people work on them.</source>
        <translation>Las cadenas fotovoltaicas tienen tensión siempre que brilla el sol, y las baterías pueden dar corrientes mortales. Solo personas cualificadas trabajan en ellas.</translation>
    </message>
    <message>
        <source>Plans the week of a rotational-molding yard whose only oven is the sun.</source>
        <translation>Planifica la semana de un patio de rotomoldeo cuyo único horno es el sol.</translation>
    </message>
    <message>
        <source>Stow the mirrors before the site's limit is reached, not at it. A plan does not know a gust.</source>
        <translation>Recoja los espejos antes de llegar al límite del sitio, no al llegar. Un plan no conoce una racha.</translation>
    </message>
    <message>
        <source>Wind</source>
        <translation>Viento</translation>
    </message>
    <message>
        <source>Work in heat</source>
        <translation>Trabajo con calor</translation>
    </message>
    <message>
        <source>yardplan draws plans; it switches nothing and watches nothing. Local codes, the makers' instructions and licensed practice always come first.</source>
        <translation>yardplan dibuja planes; no conmuta nada y no vigila nada. Las normas locales, las instrucciones de los fabricantes y el ejercicio autorizado van siempre primero.</translation>
    </message>
    <message>
        <source>yardplan {version}</source>
        <translation>yardplan {version}</translation>
    </message>
</context>
<context>
    <name>Access</name>
    <message>
        <source>Nothing can be kept: {why}.</source>
        <translation>No se puede reservar nada: {why}.</translation>
    </message>
    <message>
        <source>Only looking: the database cannot be written, {why}. What is shown was read {age} ago. Dates can be checked; nothing can be kept, ordered or changed. This ends by itself when the database is back.</source>
        <translation>Solo mirar: no se puede escribir en la base de datos, {why}. Lo mostrado se leyó hace {age}. Se pueden ver fechas; no se puede reservar, pedir ni cambiar nada. Acaba por sí solo cuando vuelve la base de datos.</translation>
    </message>
    <message>
        <source>{h} h {m} min</source>
        <translation>{h} h {m} min</translation>
    </message>
    <message>
        <source>{m} min</source>
        <translation>{m} min</translation>
    </message>
</context>
<context>
    <name>AddOrder</name>
    <message>
        <source>Add</source>
        <translation>Añadir</translation>
    </message>
    <message>
        <source>Add an order</source>
        <translation>Añadir un pedido</translation>
    </message>
    <message>
        <source>Color</source>
        <translation>Color</translation>
    </message>
    <message>
        <source>Customer</source>
        <translation>Cliente</translation>
    </message>
    <message>
        <source>Due</source>
        <translation>Plazo</translation>
    </message>
    <message>
        <source>Note</source>
        <translation>Nota</translation>
    </message>
    <message>
        <source>Order</source>
        <translation>Pedido</translation>
    </message>
    <message>
        <source>Priority</source>
        <translation>Prioridad</translation>
    </message>
    <message>
        <source>Product</source>
        <translation>Producto</translation>
    </message>
    <message>
        <source>Promised</source>
        <translation>Prometido</translation>
    </message>
    <message>
        <source>Quantity</source>
        <translation>Cantidad</translation>
    </message>
    <message>
        <source>There is an order {number} already.</source>
        <translation>Ya hay un pedido {number}.</translation>
    </message>
</context>
<context>
    <name>Beginning</name>
    <message>
        <source>File of a typical year</source>
        <translation>Archivo de un año típico</translation>
    </message>
    <message>
        <source>Folder of the yard</source>
        <translation>Carpeta del patio</translation>
    </message>
    <message>
        <source>Typical years (*.csv *.epw *.tm2 *.tm3 *.json);;All files (*)</source>
        <translation>Años típicos (*.csv *.epw *.tm2 *.tm3 *.json);;Todos los archivos (*)</translation>
    </message>
</context>
<context>
    <name>Board</name>
    <message>
        <source>{n} cycles</source>
        <translation>{n} ciclos</translation>
    </message>
</context>
<context>
    <name>BoardKey</name>
    <message>
        <source>A cycle has the shape of the air temperature in its mold.</source>
        <translation>Un ciclo tiene la forma de la temperatura del aire en su molde.</translation>
    </message>
    <message>
        <source>Bracket: mold change.</source>
        <translation>Corchete: cambio de molde.</translation>
    </message>
    <message>
        <source>Dotted: it waits. Flag: its order is late or unfinished.</source>
        <translation>Punteado: espera. Bandera: su pedido va tarde o queda incompleto.</translation>
    </message>
    <message>
        <source>Falling, hatched: it cools. Low block: people charge or demold, a post each.</source>
        <translation>Bajada, rayada: se enfría. Bloque bajo: hay gente cargando o desmoldando, un poste cada una.</translation>
    </message>
    <message>
        <source>Field heat: band from P10 to P90, line P50. Battery: hatched floor is never spent.</source>
        <translation>Calor del campo: banda de P10 a P90, línea P50. Batería: el suelo rayado no se gasta nunca.</translation>
    </message>
    <message>
        <source>Hatched across: out of work.</source>
        <translation>Rayado cruzado: fuera de servicio.</translation>
    </message>
    <message>
        <source>How to read the board</source>
        <translation>Cómo se lee el tablero</translation>
    </message>
    <message>
        <source>Keys on the board: arrows choose, Page Up and Page Down follow an order, Shift and arrows move, + − 0 zoom, N goes to now, Enter opens, Esc gives up. A cycle is moved with the mouse or Ctrl+M.</source>
        <translation>Teclas en el tablero: las flechas eligen, Re Pág y Av Pág siguen un pedido, con Mayús las flechas desplazan, + − 0 amplían, N va a ahora, Intro abre, Esc lo deja. Un ciclo se mueve con el ratón o con Ctrl+M.</translation>
    </message>
    <message>
        <source>Order numbers stand over cycles; zoom in to see more of their names.</source>
        <translation>Los números de pedido están sobre los ciclos; amplíe para ver más de sus nombres.</translation>
    </message>
    <message>
        <source>Outlined: handling.</source>
        <translation>Con contorno: manejo.</translation>
    </message>
    <message>
        <source>Padlock: locked, planning leaves it.</source>
        <translation>Candado: bloqueado, la planificación lo deja.</translation>
    </message>
    <message>
        <source>Post: latest safe start of the day's last mold.</source>
        <translation>Poste: último inicio seguro del último molde del día.</translation>
    </message>
    <message>
        <source>Rising, solid: the sun heats. Ticks at the peak: PIAT in 50, 80, 95 % of skies.</source>
        <translation>Subida, llena: el sol calienta. Marcas en la cima: PIAT en el 50, 80, 95 % de los cielos.</translation>
    </message>
    <message>
        <source>Slab: finishing.</source>
        <translation>Losa: acabado.</translation>
    </message>
    <message>
        <source>charge</source>
        <translation>cargar</translation>
    </message>
    <message>
        <source>cut</source>
        <translation>cortar</translation>
    </message>
    <message>
        <source>hang</source>
        <translation>colgar</translation>
    </message>
    <message>
        <source>washing</source>
        <translation>lavado</translation>
    </message>
</context>
<context>
    <name>BoardScene</name>
    <message>
        <source>{kwh} kWh</source>
        <translation>{kwh} kWh</translation>
    </message>
    <message>
        <source>{kw} kW</source>
        <translation>{kw} kW</translation>
    </message>
</context>
<context>
    <name>BoardView</name>
    <message>
        <source>Board of the week</source>
        <translation>Tablero de la semana</translation>
    </message>
    <message>
        <source>nothing chosen</source>
        <translation>nada elegido</translation>
    </message>
</context>
<context>
    <name>CardView</name>
    <message>
        <source>Chamber {chamber}: something else</source>
        <translation>Cámara {chamber}: otra cosa</translation>
    </message>
    <message>
        <source>Chamber {chamber}: {act}</source>
        <translation>Cámara {chamber}: {act}</translation>
    </message>
    <message>
        <source>not due yet</source>
        <translation>aún no toca</translation>
    </message>
</context>
<context>
    <name>CellEditor</name>
    <message>
        <source>Choose: {name}</source>
        <translation>Elegir: {name}</translation>
    </message>
    <message>
        <source>such as {example}</source>
        <translation>como {example}</translation>
    </message>
    <message>
        <source>{value} if left blank</source>
        <translation>{value} si queda en blanco</translation>
    </message>
</context>
<context>
    <name>CodeDialog</name>
    <message>
        <source>&amp;Code on the sheet</source>
        <translation>&amp;Código de la hoja</translation>
    </message>
    <message>
        <source>Code on the sheet</source>
        <translation>Código de la hoja</translation>
    </message>
    <message>
        <source>Go to a cycle</source>
        <translation>Ir a un ciclo</translation>
    </message>
    <message>
        <source>such as 2B-07, or 2b7</source>
        <translation>como 2B-07, o 2b7</translation>
    </message>
</context>
<context>
    <name>Counter</name>
    <message>
        <source>In the order book as {names}, promised for {day}.</source>
        <translation>En el libro de pedidos como {names}, prometido para {day}.</translation>
    </message>
    <message>
        <source>In the order book as {names}, wished for {day} and not promised.</source>
        <translation>En los pedidos como {names}, deseado para el {day} y sin promesa.</translation>
    </message>
    <message>
        <source>Keeping it ...</source>
        <translation>Reservando ...</translation>
    </message>
    <message>
        <source>Kept: {hold}.</source>
        <translation>Reservado: {hold}.</translation>
    </message>
    <message>
        <source>Let go of {hold}.</source>
        <translation>Soltar {hold}.</translation>
    </message>
    <message>
        <source>Letting go ...</source>
        <translation>Soltando ...</translation>
    </message>
    <message>
        <source>Looking for the earliest dates ...</source>
        <translation>Buscando las fechas más tempranas ...</translation>
    </message>
    <message>
        <source>Not kept: {why}. These are the dates as things are now.</source>
        <translation>No reservado: {why}. Estas son las fechas tal como están las cosas ahora.</translation>
    </message>
    <message>
        <source>Ordering ...</source>
        <translation>Haciendo el pedido ...</translation>
    </message>
</context>
<context>
    <name>CycleDrag</name>
    <message>
        <source>Drop it on a chamber; Esc leaves all as it was.</source>
        <translation>Suéltelo en una cámara; Esc deja todo como estaba.</translation>
    </message>
</context>
<context>
    <name>DateRail</name>
    <message>
        <source>19 of 20</source>
        <translation>19 de 20</translation>
    </message>
    <message>
        <source>5 of 10</source>
        <translation>5 de 10</translation>
    </message>
    <message>
        <source>8 of 10</source>
        <translation>8 de 10</translation>
    </message>
    <message>
        <source>Twenty equally likely dates, the first {first}, the last {last}.</source>
        <translation>Veinte fechas igual de probables, la primera {first}, la última {last}.</translation>
    </message>
    <message>
        <source>wished</source>
        <translation>deseado</translation>
    </message>
    <message>
        <source>{n} of 20 are by the wished day.</source>
        <translation>{n} de 20 son para el día deseado.</translation>
    </message>
</context>
<context>
    <name>Day</name>
    <message>
        <source>Absent</source>
        <translation>Ausente</translation>
    </message>
    <message>
        <source>Begin</source>
        <translation>Empezar</translation>
    </message>
    <message>
        <source>Charged</source>
        <translation>Cargado</translation>
    </message>
    <message>
        <source>Decide …</source>
        <translation>Decidir …</translation>
    </message>
    <message>
        <source>Demolded, good</source>
        <translation>Desmoldado, bueno</translation>
    </message>
    <message>
        <source>Demolded, {n} scrapped</source>
        <translation>Desmoldado, {n} desechadas</translation>
    </message>
    <message>
        <source>Demolded, {n} to rework</source>
        <translation>Desmoldado, {n} a reproceso</translation>
    </message>
    <message>
        <source>Done</source>
        <translation>Hecho</translation>
    </message>
    <message>
        <source>Emptied</source>
        <translation>Vaciado</translation>
    </message>
    <message>
        <source>Heating starts</source>
        <translation>Empieza el calor</translation>
    </message>
    <message>
        <source>Is back</source>
        <translation>Ha vuelto</translation>
    </message>
    <message>
        <source>It lost its sun</source>
        <translation>Perdió su sol</translation>
    </message>
    <message>
        <source>PIAT from {first}, if the sun holds</source>
        <translation>PIAT desde {first}, si el sol aguanta</translation>
    </message>
    <message>
        <source>PIAT is not reached from here at any confidence</source>
        <translation>Desde aquí no se alcanza PIAT con ninguna confianza</translation>
    </message>
    <message>
        <source>PIAT reached</source>
        <translation>PIAT alcanzada</translation>
    </message>
    <message>
        <source>PIAT was due by {at}: look at it</source>
        <translation>PIAT tocaba a las {at}: mírelo</translation>
    </message>
    <message>
        <source>PIAT {first} to {last}</source>
        <translation>PIAT {first} a {last}</translation>
    </message>
    <message>
        <source>The sun is back on it</source>
        <translation>El sol ha vuelto a él</translation>
    </message>
    <message>
        <source>absent {ago}</source>
        <translation>ausente {ago}</translation>
    </message>
    <message>
        <source>charge {due}</source>
        <translation>cargar {due}</translation>
    </message>
    <message>
        <source>charged {ago}</source>
        <translation>cargado {ago}</translation>
    </message>
    <message>
        <source>cooling {ago}</source>
        <translation>enfriando {ago}</translation>
    </message>
    <message>
        <source>due since {at}</source>
        <translation>toca desde {at}</translation>
    </message>
    <message>
        <source>due {at}</source>
        <translation>toca {at}</translation>
    </message>
    <message>
        <source>empty, {mold} hangs</source>
        <translation>vacía, cuelga {mold}</translation>
    </message>
    <message>
        <source>end it here, inspect the pieces</source>
        <translation>terminarlo aquí, inspeccionar las piezas</translation>
    </message>
    <message>
        <source>finish on the sun that comes back</source>
        <translation>terminarlo con el sol que vuelve</translation>
    </message>
    <message>
        <source>free, from {start} {what}</source>
        <translation>libre, desde {start} {what}</translation>
    </message>
    <message>
        <source>give it up</source>
        <translation>abandonarla</translation>
    </message>
    <message>
        <source>given up</source>
        <translation>abandonada</translation>
    </message>
    <message>
        <source>hang {mold} ({name})</source>
        <translation>colgar {mold} ({name})</translation>
    </message>
    <message>
        <source>heating {ago}</source>
        <translation>calentando {ago}</translation>
    </message>
    <message>
        <source>interrupted {n} times: go by the inside air</source>
        <translation>interrumpida {n} veces: guíese por el aire interior</translation>
    </message>
    <message>
        <source>keep it turning until it is decided</source>
        <translation>seguir girándolo hasta que se decida</translation>
    </message>
    <message>
        <source>keep turning and wait</source>
        <translation>seguir girando y esperar</translation>
    </message>
    <message>
        <source>latest start {at}</source>
        <translation>último inicio {at}</translation>
    </message>
    <message>
        <source>let it cool, then empty it</source>
        <translation>dejar que se enfríe, luego vaciarlo</translation>
    </message>
    <message>
        <source>lost its sun {m} min ago</source>
        <translation>perdió su sol hace {m} min</translation>
    </message>
    <message>
        <source>mirrors stowed {ago}</source>
        <translation>espejos recogidos {ago}</translation>
    </message>
    <message>
        <source>no mold</source>
        <translation>sin molde</translation>
    </message>
    <message>
        <source>nothing more is planned here</source>
        <translation>aquí no hay nada más planificado</translation>
    </message>
    <message>
        <source>nothing planned for the rest of the shift</source>
        <translation>nada planificado para el resto del turno</translation>
    </message>
    <message>
        <source>now {what}, until {end}</source>
        <translation>ahora {what}, hasta {end}</translation>
    </message>
    <message>
        <source>open from about {at}; measure first</source>
        <translation>abrir desde cerca de {at}; mida primero</translation>
    </message>
    <message>
        <source>out of work {ago}</source>
        <translation>fuera de servicio {ago}</translation>
    </message>
    <message>
        <source>since {at}</source>
        <translation>desde {at}</translation>
    </message>
    <message>
        <source>started now: {piat}</source>
        <translation>empezado ahora: {piat}</translation>
    </message>
    <message>
        <source>then nothing more</source>
        <translation>después nada más</translation>
    </message>
    <message>
        <source>then {at} {order}</source>
        <translation>después {at} {order}</translation>
    </message>
    <message>
        <source>{at}  {step}  {order}</source>
        <translation>{at}  {step}  {order}</translation>
    </message>
    <message>
        <source>{at} {who}: {choice}</source>
        <translation>{at} {who}: {choice}</translation>
    </message>
    <message>
        <source>{bench}, {who}, cycle {code}</source>
        <translation>{bench}, {who}, ciclo {code}</translation>
    </message>
    <message>
        <source>{mold} hangs</source>
        <translation>cuelga {mold}</translation>
    </message>
    <message>
        <source>{order}  {product}, {color}</source>
        <translation>{order}  {product}, {color}</translation>
    </message>
    <message>
        <source>{text}, after the step before</source>
        <translation>{text}, tras el paso anterior</translation>
    </message>
    <message>
        <source>{text}, not charged yet</source>
        <translation>{text}, aún sin cargar</translation>
    </message>
    <message>
        <source>{text}, still in the mold</source>
        <translation>{text}, aún en el molde</translation>
    </message>
    <message>
        <source>{text}, under way</source>
        <translation>{text}, en marcha</translation>
    </message>
</context>
<context>
    <name>DayEdit</name>
    <message>
        <source>Do you mean {day}? Nothing is told beyond {last}.</source>
        <translation>¿Quiere decir {day}? No se dice nada más allá de {last}.</translation>
    </message>
    <message>
        <source>{day} is over; type a day from {first} on.</source>
        <translation>{day} ya pasó; escriba un día desde {first}.</translation>
    </message>
</context>
<context>
    <name>DecidePanel</name>
    <message>
        <source> {unit} inside</source>
        <translation> {unit} dentro</translation>
    </message>
    <message>
        <source>Above its reserve the battery of {unit} turns the molds for about {h} h.</source>
        <translation>Por encima de su reserva, la batería de {unit} gira los moldes unas {h} h.</translation>
    </message>
    <message>
        <source>Chance that it still reaches PIAT: {chance}.</source>
        <translation>Probabilidad de que aún alcance PIAT: {chance}.</translation>
    </message>
    <message>
        <source>End it here, inspect the pieces</source>
        <translation>Terminarlo aquí, inspeccionar las piezas</translation>
    </message>
    <message>
        <source>Finish on the sun that comes back</source>
        <translation>Terminarlo con el sol que vuelve</translation>
    </message>
    <message>
        <source>Give it up</source>
        <translation>Abandonarla</translation>
    </message>
    <message>
        <source>Inside air as read now</source>
        <translation>Aire interior leído ahora</translation>
    </message>
    <message>
        <source>Keep turning and wait</source>
        <translation>Seguir girando y esperar</translation>
    </message>
    <message>
        <source>No sky that is likely brings it to PIAT any more.</source>
        <translation>Ningún cielo probable la lleva ya a PIAT.</translation>
    </message>
    <message>
        <source>Not now</source>
        <translation>Ahora no</translation>
    </message>
    <message>
        <source>Of the charge {share} has melted; its mean is {mean}, the shell {shell}.</source>
        <translation>De la carga se ha fundido {share}; su media es {mean}, la cáscara {shell}.</translation>
    </message>
    <message>
        <source>PIAT {span}.</source>
        <translation>PIAT {span}.</translation>
    </message>
    <message>
        <source>Reason</source>
        <translation>Motivo</translation>
    </message>
    <message>
        <source>Reason, as it will be read later</source>
        <translation>Motivo, como se leerá después</translation>
    </message>
    <message>
        <source>Say first who decides.</source>
        <translation>Diga primero quién decide.</translation>
    </message>
    <message>
        <source>What are the chances?</source>
        <translation>¿Qué probabilidades hay?</translation>
    </message>
    <message>
        <source>What the battery of {unit} holds now is not known.</source>
        <translation>No se sabe lo que la batería de {unit} guarda ahora.</translation>
    </message>
    <message>
        <source>Who decides</source>
        <translation>Quién decide</translation>
    </message>
    <message>
        <source>Who decides?</source>
        <translation>¿Quién decide?</translation>
    </message>
    <message>
        <source>Without heat it is lost in {m} min.</source>
        <translation>Sin calor se pierde en {m} min.</translation>
    </message>
    <message>
        <source>Working it out ...</source>
        <translation>Calculando ...</translation>
    </message>
    <message>
        <source>{chamber} lost its sun {m} min ago</source>
        <translation>{chamber} perdió su sol hace {m} min</translation>
    </message>
    <message>
        <source>{product}, {color}, in {mold} for {order}: heated {m} min, PIAT is {piat}. The program knows no rule of cure: read the inside air, look at what the resin's maker says, then decide.</source>
        <translation>{product}, {color}, en {mold} para {order}: {m} min de calor, PIAT es {piat}. El programa no conoce ninguna regla de curado: lea el aire interior, mire lo que dice el fabricante de la resina y decida.</translation>
    </message>
</context>
<context>
    <name>Desk</name>
    <message>
        <source>; differs from the plan: {what}</source>
        <translation>; difiere del plan: {what}</translation>
    </message>
    <message>
        <source>Kept: {dni} W/m² of direct light. Read again (F5) for the outlook with it.</source>
        <translation>Guardado: {dni} W/m² de luz directa. Lea de nuevo (F5) para la previsión con ello.</translation>
    </message>
    <message>
        <source>Logged {at}: {what}</source>
        <translation>Anotado {at}: {what}</translation>
    </message>
    <message>
        <source>Taken back.</source>
        <translation>Retirado.</translation>
    </message>
</context>
<context>
    <name>Details</name>
    <message>
        <source>Crew</source>
        <translation>Cuadrilla</translation>
    </message>
    <message>
        <source>Finishing</source>
        <translation>Acabado</translation>
    </message>
    <message>
        <source>Its cycles</source>
        <translation>Sus ciclos</translation>
    </message>
    <message>
        <source>Mold change</source>
        <translation>Cambio de molde</translation>
    </message>
    <message>
        <source>Order {id}</source>
        <translation>Pedido {id}</translation>
    </message>
    <message>
        <source>Times, {day}</source>
        <translation>Horas, {day}</translation>
    </message>
    <message>
        <source>Why is it late?</source>
        <translation>¿Por qué se retrasa?</translation>
    </message>
    <message>
        <source>charge</source>
        <translation>cargar</translation>
    </message>
    <message>
        <source>clean down</source>
        <translation>limpieza</translation>
    </message>
    <message>
        <source>cook</source>
        <translation>cocción</translation>
    </message>
    <message>
        <source>cool</source>
        <translation>enfriar</translation>
    </message>
    <message>
        <source>crew</source>
        <translation>cuadrilla</translation>
    </message>
    <message>
        <source>customer</source>
        <translation>cliente</translation>
    </message>
    <message>
        <source>demold</source>
        <translation>desmoldar</translation>
    </message>
    <message>
        <source>due</source>
        <translation>plazo</translation>
    </message>
    <message>
        <source>end</source>
        <translation>fin</translation>
    </message>
    <message>
        <source>finish</source>
        <translation>acabar</translation>
    </message>
    <message>
        <source>hang</source>
        <translation>colgar</translation>
    </message>
    <message>
        <source>heat</source>
        <translation>calor</translation>
    </message>
    <message>
        <source>heat taken</source>
        <translation>calor usado</translation>
    </message>
    <message>
        <source>locked</source>
        <translation>bloqueado</translation>
    </message>
    <message>
        <source>mold</source>
        <translation>molde</translation>
    </message>
    <message>
        <source>no</source>
        <translation>no</translation>
    </message>
    <message>
        <source>no finishing in this plan</source>
        <translation>sin acabado en este plan</translation>
    </message>
    <message>
        <source>not in this plan</source>
        <translation>no en este plan</translation>
    </message>
    <message>
        <source>not known</source>
        <translation>no se sabe</translation>
    </message>
    <message>
        <source>not promised</source>
        <translation>no prometido</translation>
    </message>
    <message>
        <source>nothing hangs there</source>
        <translation>ahí no cuelga nada</translation>
    </message>
    <message>
        <source>order</source>
        <translation>pedido</translation>
    </message>
    <message>
        <source>pieces</source>
        <translation>piezas</translation>
    </message>
    <message>
        <source>place</source>
        <translation>lugar</translation>
    </message>
    <message>
        <source>promised</source>
        <translation>prometido</translation>
    </message>
    <message>
        <source>quantity</source>
        <translation>cantidad</translation>
    </message>
    <message>
        <source>start</source>
        <translation>inicio</translation>
    </message>
    <message>
        <source>state</source>
        <translation>estado</translation>
    </message>
    <message>
        <source>take out</source>
        <translation>sacar</translation>
    </message>
    <message>
        <source>takes</source>
        <translation>tarda</translation>
    </message>
    <message>
        <source>wait</source>
        <translation>esperar</translation>
    </message>
    <message>
        <source>yes</source>
        <translation>sí</translation>
    </message>
    <message>
        <source>yes: planning leaves it as it is</source>
        <translation>sí: la planificación lo deja como está</translation>
    </message>
    <message>
        <source>{code}  {product}, {color}</source>
        <translation>{code}  {product}, {color}</translation>
    </message>
    <message>
        <source>{kwh} kWh</source>
        <translation>{kwh} kWh</translation>
    </message>
    <message>
        <source>{kwh} kWh (median)</source>
        <translation>{kwh} kWh (mediana)</translation>
    </message>
    <message>
        <source>{n} pieces</source>
        <translation>{n} piezas</translation>
    </message>
    <message>
        <source>{share} of skies: PIAT by {at}</source>
        <translation>{share} de los cielos: PIAT a las {at}</translation>
    </message>
    <message>
        <source>{share} of skies: stalls</source>
        <translation>{share} de los cielos: se estanca</translation>
    </message>
    <message>
        <source>{start}, finished {end}</source>
        <translation>{start}, acabado {end}</translation>
    </message>
    <message>
        <source>{t} for crew</source>
        <translation>{t} por cuadrilla</translation>
    </message>
    <message>
        <source>{t} for heat</source>
        <translation>{t} por calor</translation>
    </message>
</context>
<context>
    <name>EditRow</name>
    <message>
        <source>Add ...</source>
        <translation>Añadir ...</translation>
    </message>
    <message>
        <source>Changes not saved: {n}</source>
        <translation>Cambios sin guardar: {n}</translation>
    </message>
    <message>
        <source>Compare</source>
        <translation>Comparar</translation>
    </message>
    <message>
        <source>Lock</source>
        <translation>Fijar</translation>
    </message>
    <message>
        <source>Move to ...</source>
        <translation>Mover a ...</translation>
    </message>
    <message>
        <source>Publish ...</source>
        <translation>Publicar ...</translation>
    </message>
    <message>
        <source>Redo</source>
        <translation>Rehacer</translation>
    </message>
    <message>
        <source>Redo: {what}</source>
        <translation>Rehacer: {what}</translation>
    </message>
    <message>
        <source>Remove</source>
        <translation>Quitar</translation>
    </message>
    <message>
        <source>Save version</source>
        <translation>Guardar versión</translation>
    </message>
    <message>
        <source>Split ...</source>
        <translation>Dividir ...</translation>
    </message>
    <message>
        <source>Undo</source>
        <translation>Deshacer</translation>
    </message>
    <message>
        <source>Undo: {what}</source>
        <translation>Deshacer: {what}</translation>
    </message>
    <message>
        <source>Unlock</source>
        <translation>Soltar</translation>
    </message>
</context>
<context>
    <name>EditWords</name>
    <message>
        <source>Dropped: {name}, {place}</source>
        <translation>Se cae: {name}, {place}</translation>
    </message>
    <message>
        <source>It could begin there from {at} on.</source>
        <translation>Podría empezar allí a partir de {at}.</translation>
    </message>
    <message>
        <source>Locked</source>
        <translation>Fijado</translation>
    </message>
    <message>
        <source>Mold changes that were for nothing: {n}</source>
        <translation>Cambios de molde hechos en vano: {n}</translation>
    </message>
    <message>
        <source>Moved in all: {h} h, near ones counting most</source>
        <translation>Movido en total: {h} h; lo más próximo cuenta más</translation>
    </message>
    <message>
        <source>Moved: {name}, {was} to {place}</source>
        <translation>Movido: {name}, de {was} a {place}</translation>
    </message>
    <message>
        <source>New: {name}, {place}</source>
        <translation>Nuevo: {name}, {place}</translation>
    </message>
    <message>
        <source>Not possible: {reason}</source>
        <translation>No es posible: {reason}</translation>
    </message>
    <message>
        <source>Nothing else is moved.</source>
        <translation>No se mueve nada más.</translation>
    </message>
    <message>
        <source>Order {id}: {told}</source>
        <translation>Pedido {id}: {told}</translation>
    </message>
    <message>
        <source>Pairs of cycles that follow each other the other way round: {share}</source>
        <translation>Pares de ciclos que se siguen al revés: {share}</translation>
    </message>
    <message>
        <source>Removed from the plan</source>
        <translation>Quitado del plan</translation>
    </message>
    <message>
        <source>Unlocked</source>
        <translation>Suelto</translation>
    </message>
    <message>
        <source>add a cycle of {order}</source>
        <translation>añadir un ciclo de {order}</translation>
    </message>
    <message>
        <source>and {n} more</source>
        <translation>y {n} más</translation>
    </message>
    <message>
        <source>lock {code}</source>
        <translation>fijar {code}</translation>
    </message>
    <message>
        <source>move {code}</source>
        <translation>mover {code}</translation>
    </message>
    <message>
        <source>remove {code}</source>
        <translation>quitar {code}</translation>
    </message>
    <message>
        <source>split at {code}</source>
        <translation>dividir en {code}</translation>
    </message>
    <message>
        <source>unlock {code}</source>
        <translation>soltar {code}</translation>
    </message>
    <message>
        <source>{chamber} {at}</source>
        <translation>{chamber} {at}</translation>
    </message>
    <message>
        <source>{chamber}, {at}</source>
        <translation>{chamber}, {at}</translation>
    </message>
    <message>
        <source>{length} earlier: {name}, {place}</source>
        <translation>{length} antes: {name}, {place}</translation>
    </message>
    <message>
        <source>{length} later: {name}, {place}</source>
        <translation>{length} después: {name}, {place}</translation>
    </message>
    <message>
        <source>{order} {product}</source>
        <translation>{order} {product}</translation>
    </message>
    <message>
        <source>{place}, heat {heat} to {end}</source>
        <translation>{place}, calor de {heat} a {end}</translation>
    </message>
</context>
<context>
    <name>Editing</name>
    <message>
        <source>Another plan is shown; your changes were for other days and are gone.</source>
        <translation>Se muestra otro plan; sus cambios eran para otros días y se han perdido.</translation>
    </message>
    <message>
        <source>Checking ...</source>
        <translation>Comprobando ...</translation>
    </message>
    <message>
        <source>Locked work cannot stay where it is, and nothing was moved.</source>
        <translation>Hay trabajo fijado que no puede quedarse donde está; no se ha movido nada.</translation>
    </message>
    <message>
        <source>Nothing was changed.</source>
        <translation>No se ha cambiado nada.</translation>
    </message>
    <message>
        <source>Plan {n} was made meanwhile; your changes are of plan {mine}.</source>
        <translation>Entretanto se hizo el plan {n}; sus cambios son del plan {mine}.</translation>
    </message>
    <message>
        <source>Unlock {name}</source>
        <translation>Soltar {name}</translation>
    </message>
    <message>
        <source>{id} in {chamber}</source>
        <translation>{id} en {chamber}</translation>
    </message>
</context>
<context>
    <name>FanChart</name>
    <message>
        <source>Heat by unit and day</source>
        <translation>Calor por unidad y día</translation>
    </message>
    <message>
        <source>no safe start</source>
        <translation>sin inicio seguro</translation>
    </message>
    <message>
        <source>{kw} kW</source>
        <translation>{kw} kW</translation>
    </message>
    <message>
        <source>{title}, {at}: {likely} kW ({low} to {high})</source>
        <translation>{title}, {at}: {likely} kW ({low} a {high})</translation>
    </message>
</context>
<context>
    <name>FieldPanel</name>
    <message>
        <source>&lt;b&gt;Concentrated light blinds, burns and sets fire at a distance.&lt;/b&gt; Nobody enters a field or stands near a mold while mirrors work: stow them first, by the yard's own procedure and the local rules.</source>
        <translation>&lt;b&gt;La luz concentrada ciega, quema y prende fuego a distancia.&lt;/b&gt; Nadie entra en un campo ni se queda junto a un molde mientras trabajan los espejos: recójalos antes, según el procedimiento del patio y las normas locales.</translation>
    </message>
    <message>
        <source>Lay out in rows …</source>
        <translation>Disponer en filas …</translation>
    </message>
    <message>
        <source>Light on each mirror at noon</source>
        <translation>Luz en cada espejo al mediodía</translation>
    </message>
    <message>
        <source>Light on each mirror now</source>
        <translation>Luz en cada espejo ahora</translation>
    </message>
    <message>
        <source>Light on each mirror over today</source>
        <translation>Luz en cada espejo a lo largo de hoy</translation>
    </message>
    <message>
        <source>Light on the mirrors</source>
        <translation>Luz en los espejos</translation>
    </message>
    <message>
        <source>The sun is below {least}° then: no heat is counted.</source>
        <translation>El sol está entonces por debajo de {least}°: no se cuenta calor.</translation>
    </message>
    <message>
        <source>The unit is drawn once no cell of the yard is bad any more.</source>
        <translation>La unidad se dibuja cuando ninguna celda del patio sea ya errónea.</translation>
    </message>
    <message>
        <source>on {day} at {time}, sun {elevation}° high</source>
        <translation>el {day} a las {time}, sol a {elevation}° de altura</translation>
    </message>
    <message>
        <source>over {day} under a clear sky</source>
        <translation>a lo largo del {day} con cielo despejado</translation>
    </message>
    <message>
        <source>{n} mirrors, {area}, send {mean} of the light on them {when} (best {best}, least {least}); numbers are percent, before what misses a mold's outline. Mirrors are drawn lying flat, chambers as a sketch.</source>
        <translation>{n} espejos, {area}, envían {mean} de la luz que reciben {when} (el mejor {best}, el peor {least}); los números son tanto por ciento, antes de lo que no acierta en el contorno de un molde. Los espejos se dibujan tumbados, las cámaras como esbozo.</translation>
    </message>
</context>
<context>
    <name>FieldView</name>
    <message>
        <source>; sends {sent} of the light on it: askew to the sun {cosine}, past neighbors {open}, glass and air {glass}, dirt {clean}</source>
        <translation>; envía {sent} de la luz que recibe: inclinado al sol {cosine}, entre vecinos {open}, vidrio y aire {glass}, suciedad {clean}</translation>
    </message>
    <message>
        <source>Field of mirrors from above</source>
        <translation>Campo de espejos visto desde arriba</translation>
    </message>
    <message>
        <source>Mirror {n}: {east} east, {north} north, {up} up, {width} x {height}</source>
        <translation>Espejo {n}: {east} al este, {north} al norte, {up} de alto, {width} x {height}</translation>
    </message>
    <message>
        <source>N</source>
        <translation>N</translation>
    </message>
    <message>
        <source>{n} mirrors</source>
        <translation>{n} espejos</translation>
    </message>
</context>
<context>
    <name>FirstSteps</name>
    <message>
        <source>Build the first plan</source>
        <translation>Crear el primer plan</translation>
    </message>
    <message>
        <source>Do not show this</source>
        <translation>No mostrar esto</translation>
    </message>
    <message>
        <source>Go to Today</source>
        <translation>Ir a Hoy</translation>
    </message>
    <message>
        <source>Go to the orders</source>
        <translation>Ir a los pedidos</translation>
    </message>
    <message>
        <source>Plan {n} is there. Look at it on the Week page; next: put it into force.</source>
        <translation>El plan {n} está listo. Mírelo en la página Semana; después: póngalo en vigor.</translation>
    </message>
    <message>
        <source>Put it into force</source>
        <translation>Ponerlo en vigor</translation>
    </message>
    <message>
        <source>Step {n} of {all}: {what}</source>
        <translation>Paso {n} de {all}: {what}</translation>
    </message>
    <message>
        <source>The first plan is in force. From now on log on the Today page what happens.</source>
        <translation>El primer plan está en vigor. Desde ahora anote en la página Hoy lo que pasa.</translation>
    </message>
    <message>
        <source>The yard is ready. Next: put in what customers have ordered.</source>
        <translation>El patio está listo. Después: ponga lo que han pedido los clientes.</translation>
    </message>
    <message>
        <source>{n} orders are open. Next: let a first plan be searched for. It can be stopped at any time, and nothing is in force before you say so.</source>
        <translation>Hay {n} pedidos abiertos. Después: deje buscar un primer plan. Se puede parar en cualquier momento, y nada está en vigor hasta que usted lo diga.</translation>
    </message>
</context>
<context>
    <name>HeatPage</name>
    <message>
        <source>All units on one day</source>
        <translation>Todas las unidades en un día</translation>
    </message>
    <message>
        <source>First start, latest safe start and cooks one after another, at {share} confidence. The post above is the latest safe start of {product}.</source>
        <translation>Primer inicio, último inicio seguro y cocciones seguidas, con {share} de confianza. El poste de arriba es el último inicio seguro de {product}.</translation>
    </message>
    <message>
        <source>When products can start</source>
        <translation>Cuándo pueden empezar los productos</translation>
    </message>
    <message>
        <source>Which rows</source>
        <translation>Qué filas</translation>
    </message>
    <message>
        <source>by hand: {text}</source>
        <translation>a mano: {text}</translation>
    </message>
    <message>
        <source>latest {at}</source>
        <translation>a más tardar {at}</translation>
    </message>
    <message>
        <source>{unit} on all days</source>
        <translation>{unit} todos los días</translation>
    </message>
</context>
<context>
    <name>HeatPanel</name>
    <message>
        <source>Get a newer forecast</source>
        <translation>Pedir un pronóstico más nuevo</translation>
    </message>
    <message>
        <source>How good the outlooks were</source>
        <translation>Qué tan buenas fueron las previsiones</translation>
    </message>
    <message>
        <source>Say</source>
        <translation>Decir</translation>
    </message>
    <message>
        <source>Take back</source>
        <translation>Retirar</translation>
    </message>
    <message>
        <source>To be looked at</source>
        <translation>Para mirar</translation>
    </message>
    <message>
        <source>Washed before the sun of {day}, in all until the last of these days:</source>
        <translation>Lavados antes del sol del {day}, en total hasta el último de estos días:</translation>
    </message>
    <message>
        <source>Washing the mirrors</source>
        <translation>Lavar los espejos</translation>
    </message>
    <message>
        <source>Weigh a wash before {day}</source>
        <translation>Sopesar un lavado antes del {day}</translation>
    </message>
    <message>
        <source>Weigh the outlooks of the last {n} days</source>
        <translation>Sopesar las previsiones de los últimos {n} días</translation>
    </message>
    <message>
        <source>Weighing ...</source>
        <translation>Sopesando ...</translation>
    </message>
    <message>
        <source>What was said by hand</source>
        <translation>Lo que se dijo a mano</translation>
    </message>
    <message>
        <source>What you know better</source>
        <translation>Lo que usted sabe mejor</translation>
    </message>
    <message>
        <source>What you know better than the forecast</source>
        <translation>Lo que usted sabe mejor que el pronóstico</translation>
    </message>
    <message>
        <source>Where this comes from</source>
        <translation>De dónde viene esto</translation>
    </message>
    <message>
        <source>Works the same days out once more with clean mirrors; that takes some seconds.</source>
        <translation>Calcula los mismos días otra vez con espejos limpios; tarda unos segundos.</translation>
    </message>
    <message>
        <source>such as: fog monday until 10</source>
        <translation>como: fog monday until 10</translation>
    </message>
</context>
<context>
    <name>ImportDialog</name>
    <message>
        <source>All other numbers that are there already</source>
        <translation>Todos los demás números que ya están</translation>
    </message>
    <message>
        <source>Keep what is there first</source>
        <translation>Mantener lo que está primero</translation>
    </message>
    <message>
        <source>Orders from {file}</source>
        <translation>Pedidos de {file}</translation>
    </message>
    <message>
        <source>Replace it by the last one in the file</source>
        <translation>Sustituirlo por el último del archivo</translation>
    </message>
    <message>
        <source>Rows of the file</source>
        <translation>Filas del archivo</translation>
    </message>
    <message>
        <source>Rows that can be taken: {good}. Problems: {bad}. Numbers that are there already: {twice}. Nothing is changed yet; the file itself never is.</source>
        <translation>Filas que se pueden tomar: {good}. Problemas: {bad}. Números que ya están: {twice}. Aún no ha cambiado nada; el archivo mismo nunca cambia.</translation>
    </message>
    <message>
        <source>Take in: {n}</source>
        <translation>Tomar: {n}</translation>
    </message>
    <message>
        <source>Take it in under a new number</source>
        <translation>Tomarlo con un número nuevo</translation>
    </message>
    <message>
        <source>Take quantities that may be a slip, too</source>
        <translation>Tomar también cantidades que pueden ser un desliz</translation>
    </message>
    <message>
        <source>{number}: twice in the file, {rows} pieces</source>
        <translation>{number}: dos veces en el archivo, {rows} piezas</translation>
    </message>
    <message>
        <source>{number}: {n} pieces in the book, {rows} in the file</source>
        <translation>{number}: {n} piezas en el libro, {rows} en el archivo</translation>
    </message>
</context>
<context>
    <name>LanePane</name>
    <message>
        <source>Benches</source>
        <translation>Bancos</translation>
    </message>
    <message>
        <source>Crew</source>
        <translation>Cuadrilla</translation>
    </message>
    <message>
        <source>Rows</source>
        <translation>Filas</translation>
    </message>
    <message>
        <source>battery</source>
        <translation>batería</translation>
    </message>
    <message>
        <source>bench</source>
        <translation>banco</translation>
    </message>
    <message>
        <source>chamber</source>
        <translation>cámara</translation>
    </message>
    <message>
        <source>crew</source>
        <translation>cuadrilla</translation>
    </message>
    <message>
        <source>field heat</source>
        <translation>calor del campo</translation>
    </message>
</context>
<context>
    <name>LayoutDialog</name>
    <message>
        <source>Lay out</source>
        <translation>Disponer</translation>
    </message>
    <message>
        <source>Rows of mirrors of {unit}</source>
        <translation>Filas de espejos de {unit}</translation>
    </message>
    <message>
        <source>Takes the place of all mirrors of this unit. Rows stand on arcs around the mold, each mirror behind a gap of the row before; it can be undone.</source>
        <translation>Sustituye a todos los espejos de esta unidad. Las filas están en arcos alrededor del molde, cada espejo tras un hueco de la fila anterior; se puede deshacer.</translation>
    </message>
    <message>
        <source>mirrors of {unit} laid out</source>
        <translation>espejos de {unit} dispuestos</translation>
    </message>
    <message>
        <source>⚠ {name} is “{value}”; expected {expected}</source>
        <translation>⚠ {name} es «{value}»; se esperaba {expected}</translation>
    </message>
</context>
<context>
    <name>LookingAhead</name>
    <message>
        <source>Drawing (*.svg)</source>
        <translation>Dibujo (*.svg)</translation>
    </message>
    <message>
        <source>Filling {month} ...</source>
        <translation>Llenando {month} ...</translation>
    </message>
    <message>
        <source>Looking at typical months ...</source>
        <translation>Mirando meses típicos ...</translation>
    </message>
    <message>
        <source>Numbers (*.csv)</source>
        <translation>Números (*.csv)</translation>
    </message>
    <message>
        <source>Picture (*.png)</source>
        <translation>Imagen (*.png)</translation>
    </message>
    <message>
        <source>Save months ahead</source>
        <translation>Guardar los meses por delante</translation>
    </message>
    <message>
        <source>Saved: {file}</source>
        <translation>Guardado: {file}</translation>
    </message>
    <message>
        <source>Stopped; what was shown before is still there.</source>
        <translation>Parado; lo mostrado antes sigue ahí.</translation>
    </message>
</context>
<context>
    <name>LookingBack</name>
    <message>
        <source>Drawing (*.svg)</source>
        <translation>Dibujo (*.svg)</translation>
    </message>
    <message>
        <source>Looking back ...</source>
        <translation>Mirando atrás ...</translation>
    </message>
    <message>
        <source>Numbers (*.csv)</source>
        <translation>Números (*.csv)</translation>
    </message>
    <message>
        <source>Picture (*.png)</source>
        <translation>Imagen (*.png)</translation>
    </message>
    <message>
        <source>Save the chart</source>
        <translation>Guardar el gráfico</translation>
    </message>
</context>
<context>
    <name>MainWindow</name>
    <message>
        <source>&amp;About and cautions</source>
        <translation>&amp;Acerca de y precauciones</translation>
    </message>
    <message>
        <source>&amp;Find order ...</source>
        <translation>&amp;Buscar pedido ...</translation>
    </message>
    <message>
        <source>&amp;Go to a code ...</source>
        <translation>Ir a un códi&amp;go ...</translation>
    </message>
    <message>
        <source>&amp;Heat</source>
        <translation>&amp;Calor</translation>
    </message>
    <message>
        <source>&amp;How to read the board</source>
        <translation>Cómo se &amp;lee el tablero</translation>
    </message>
    <message>
        <source>&amp;Orders</source>
        <translation>&amp;Pedidos</translation>
    </message>
    <message>
        <source>&amp;Quote</source>
        <translation>&amp;Oferta</translation>
    </message>
    <message>
        <source>&amp;Today</source>
        <translation>&amp;Hoy</translation>
    </message>
    <message>
        <source>&amp;Week</source>
        <translation>&amp;Semana</translation>
    </message>
    <message>
        <source>Looking at the yard and its sky ...</source>
        <translation>Mirando el patio y su cielo ...</translation>
    </message>
    <message>
        <source>Re&amp;view</source>
        <translation>Re&amp;visión</translation>
    </message>
    <message>
        <source>Reading the yard</source>
        <translation>Leyendo el patio</translation>
    </message>
    <message>
        <source>Seaso&amp;n</source>
        <translation>&amp;Temporada</translation>
    </message>
    <message>
        <source>The yard could not be read.</source>
        <translation>No se pudo leer el patio.</translation>
    </message>
    <message>
        <source>There is nothing to plan yet.</source>
        <translation>Aún no hay nada que planificar.</translation>
    </message>
    <message>
        <source>Y&amp;ard</source>
        <translation>P&amp;atio</translation>
    </message>
    <message>
        <source>searching</source>
        <translation>buscando</translation>
    </message>
    <message>
        <source>{site} – yardplan</source>
        <translation>{site} – yardplan</translation>
    </message>
</context>
<context>
    <name>Menus</name>
    <message>
        <source>&amp;Battery</source>
        <translation>&amp;Batería</translation>
    </message>
    <message>
        <source>&amp;Build plan</source>
        <translation>&amp;Crear plan</translation>
    </message>
    <message>
        <source>&amp;Crew</source>
        <translation>&amp;Cuadrilla</translation>
    </message>
    <message>
        <source>&amp;Edit</source>
        <translation>&amp;Edición</translation>
    </message>
    <message>
        <source>&amp;Field heat</source>
        <translation>Calor del cam&amp;po</translation>
    </message>
    <message>
        <source>&amp;File</source>
        <translation>&amp;Archivo</translation>
    </message>
    <message>
        <source>&amp;Help</source>
        <translation>A&amp;yuda</translation>
    </message>
    <message>
        <source>&amp;Light</source>
        <translation>C&amp;laro</translation>
    </message>
    <message>
        <source>&amp;Plan</source>
        <translation>P&amp;lan</translation>
    </message>
    <message>
        <source>&amp;Quit</source>
        <translation>&amp;Salir</translation>
    </message>
    <message>
        <source>&amp;Read again</source>
        <translation>&amp;Leer de nuevo</translation>
    </message>
    <message>
        <source>&amp;Rows</source>
        <translation>&amp;Filas</translation>
    </message>
    <message>
        <source>&amp;Settings ...</source>
        <translation>Aj&amp;ustes ...</translation>
    </message>
    <message>
        <source>&amp;Stop and keep best</source>
        <translation>&amp;Parar y quedarse con el mejor</translation>
    </message>
    <message>
        <source>&amp;View</source>
        <translation>&amp;Ver</translation>
    </message>
    <message>
        <source>As the &amp;desktop</source>
        <translation>Como el &amp;escritorio</translation>
    </message>
    <message>
        <source>B&amp;enches</source>
        <translation>B&amp;ancos</translation>
    </message>
    <message>
        <source>Bring in &amp;weather ...</source>
        <translation>Traer el cli&amp;ma ...</translation>
    </message>
    <message>
        <source>Bring in a &amp;yard ...</source>
        <translation>Traer un &amp;patio ...</translation>
    </message>
    <message>
        <source>Bring in the &amp;demo yard</source>
        <translation>Traer el patio de demos&amp;tración</translation>
    </message>
    <message>
        <source>D&amp;ark</source>
        <translation>&amp;Oscuro</translation>
    </message>
    <message>
        <source>For &amp;sunlight</source>
        <translation>Para el &amp;sol</translation>
    </message>
    <message>
        <source>Pages and planning</source>
        <translation>Páginas y planificación</translation>
    </message>
    <message>
        <source>Save s&amp;hop sheets as PDF ...</source>
        <translation>Guardar &amp;hojas de taller como PDF ...</translation>
    </message>
    <message>
        <source>Save week as &amp;PDF ...</source>
        <translation>Guardar la semana como P&amp;DF ...</translation>
    </message>
    <message>
        <source>The&amp;me</source>
        <translation>Te&amp;ma</translation>
    </message>
</context>
<context>
    <name>OrderDesk</name>
    <message>
        <source>Bring in orders</source>
        <translation>Traer pedidos</translation>
    </message>
    <message>
        <source>Done again: {what}</source>
        <translation>Hecho otra vez: {what}</translation>
    </message>
    <message>
        <source>Is that meant?</source>
        <translation>¿Es a propósito?</translation>
    </message>
    <message>
        <source>It is meant</source>
        <translation>Es a propósito</translation>
    </message>
    <message>
        <source>It would be due on {day}, which is over.</source>
        <translation>Vencería el {day}, que ya pasó.</translation>
    </message>
    <message>
        <source>Orders (*.csv *.xlsx)</source>
        <translation>Pedidos (*.csv *.xlsx)</translation>
    </message>
    <message>
        <source>There is no plan yet that could make it late: build one first.</source>
        <translation>Aún no hay plan que pueda retrasarlo: cree uno primero.</translation>
    </message>
    <message>
        <source>Undone: {what}</source>
        <translation>Deshecho: {what}</translation>
    </message>
    <message>
        <source>color</source>
        <translation>color</translation>
    </message>
    <message>
        <source>customer</source>
        <translation>cliente</translation>
    </message>
    <message>
        <source>due</source>
        <translation>plazo</translation>
    </message>
    <message>
        <source>note</source>
        <translation>nota</translation>
    </message>
    <message>
        <source>order {id} added</source>
        <translation>pedido {id} añadido</translation>
    </message>
    <message>
        <source>order {id} taken out</source>
        <translation>pedido {id} sacado</translation>
    </message>
    <message>
        <source>order {id}: {what}</source>
        <translation>pedido {id}: {what}</translation>
    </message>
    <message>
        <source>priority</source>
        <translation>prioridad</translation>
    </message>
    <message>
        <source>product</source>
        <translation>producto</translation>
    </message>
    <message>
        <source>promised</source>
        <translation>prometido</translation>
    </message>
    <message>
        <source>quantity</source>
        <translation>cantidad</translation>
    </message>
    <message>
        <source>{n} orders changed</source>
        <translation>{n} pedidos cambiados</translation>
    </message>
    <message>
        <source>{why}.</source>
        <translation>{why}.</translation>
    </message>
</context>
<context>
    <name>OrderModel</name>
    <message>
        <source>Chance</source>
        <translation>Probabilidad</translation>
    </message>
    <message>
        <source>Color</source>
        <translation>Color</translation>
    </message>
    <message>
        <source>Customer</source>
        <translation>Cliente</translation>
    </message>
    <message>
        <source>Due</source>
        <translation>Plazo</translation>
    </message>
    <message>
        <source>Finish</source>
        <translation>Acabar</translation>
    </message>
    <message>
        <source>Note</source>
        <translation>Nota</translation>
    </message>
    <message>
        <source>Order</source>
        <translation>Pedido</translation>
    </message>
    <message>
        <source>Priority</source>
        <translation>Prioridad</translation>
    </message>
    <message>
        <source>Product</source>
        <translation>Producto</translation>
    </message>
    <message>
        <source>Promised</source>
        <translation>Prometido</translation>
    </message>
    <message>
        <source>Quantity</source>
        <translation>Cantidad</translation>
    </message>
    <message>
        <source>Reason</source>
        <translation>Motivo</translation>
    </message>
    <message>
        <source>State</source>
        <translation>Estado</translation>
    </message>
</context>
<context>
    <name>OrdersPage</name>
    <message>
        <source>Add ...</source>
        <translation>Añadir ...</translation>
    </message>
    <message>
        <source>All orders</source>
        <translation>Todos los pedidos</translation>
    </message>
    <message>
        <source>Bring in a file ...</source>
        <translation>Traer un archivo ...</translation>
    </message>
    <message>
        <source>Filter orders</source>
        <translation>Filtrar pedidos</translation>
    </message>
    <message>
        <source>Filter: order, customer, product, late, unfinished ...</source>
        <translation>Filtro: pedido, cliente, producto, tarde, incompleto ...</translation>
    </message>
    <message>
        <source>Late or unfinished</source>
        <translation>Tarde o incompletos</translation>
    </message>
    <message>
        <source>No order is like that: change the filter.</source>
        <translation>Ningún pedido es así: cambie el filtro.</translation>
    </message>
    <message>
        <source>Not in the plan</source>
        <translation>Fuera del plan</translation>
    </message>
    <message>
        <source>Not promised</source>
        <translation>No prometido</translation>
    </message>
    <message>
        <source>Orders</source>
        <translation>Pedidos</translation>
    </message>
    <message>
        <source>Promised</source>
        <translation>Prometido</translation>
    </message>
    <message>
        <source>Redo</source>
        <translation>Rehacer</translation>
    </message>
    <message>
        <source>Redo: {what}</source>
        <translation>Rehacer: {what}</translation>
    </message>
    <message>
        <source>Take out</source>
        <translation>Sacar</translation>
    </message>
    <message>
        <source>There is no order yet: press “Add ...”, or “Bring in a file ...”.</source>
        <translation>Aún no hay ningún pedido: pulse «Añadir ...» o «Traer un archivo ...».</translation>
    </message>
    <message>
        <source>Undo</source>
        <translation>Deshacer</translation>
    </message>
    <message>
        <source>Undo: {what}</source>
        <translation>Deshacer: {what}</translation>
    </message>
    <message>
        <source>Which orders are listed</source>
        <translation>Qué pedidos se muestran</translation>
    </message>
    <message>
        <source>Why late?</source>
        <translation>¿Por qué tarde?</translation>
    </message>
    <message>
        <source>{shown} of {all}</source>
        <translation>{shown} de {all}</translation>
    </message>
</context>
<context>
    <name>PlaceDialog</name>
    <message>
        <source>&amp;Add</source>
        <translation>&amp;Añadir</translation>
    </message>
    <message>
        <source>&amp;Chamber</source>
        <translation>&amp;Cámara</translation>
    </message>
    <message>
        <source>&amp;Day</source>
        <translation>&amp;Día</translation>
    </message>
    <message>
        <source>&amp;Move</source>
        <translation>&amp;Mover</translation>
    </message>
    <message>
        <source>&amp;Order</source>
        <translation>&amp;Pedido</translation>
    </message>
    <message>
        <source>&amp;Split</source>
        <translation>Di&amp;vidir</translation>
    </message>
    <message>
        <source>&amp;Time of charging</source>
        <translation>&amp;Hora de carga</translation>
    </message>
    <message>
        <source>Add a cycle</source>
        <translation>Añadir un ciclo</translation>
    </message>
    <message>
        <source>Move to ...</source>
        <translation>Mover a ...</translation>
    </message>
    <message>
        <source>Split from here</source>
        <translation>Dividir desde aquí</translation>
    </message>
</context>
<context>
    <name>PlanBar</name>
    <message>
        <source> s</source>
        <translation> s</translation>
    </message>
    <message>
        <source>Build plan</source>
        <translation>Crear plan</translation>
    </message>
    <message>
        <source>Con&amp;fidence</source>
        <translation>Con&amp;fianza</translation>
    </message>
    <message>
        <source>Planning confidence</source>
        <translation>Confianza de planificación</translation>
    </message>
    <message>
        <source>Planning confidence: the share of skies in which a cook is over in time</source>
        <translation>Confianza de planificación: la parte de los cielos en que una cocción acaba a tiempo</translation>
    </message>
    <message>
        <source>Search &amp;time</source>
        <translation>&amp;Tiempo de búsqueda</translation>
    </message>
    <message>
        <source>Search for the best plan of the week (Ctrl+B)</source>
        <translation>Buscar el mejor plan de la semana (Ctrl+B)</translation>
    </message>
    <message>
        <source>Stop and keep best</source>
        <translation>Parar y quedarse con el mejor</translation>
    </message>
    <message>
        <source>Time limit of the search in seconds</source>
        <translation>Límite de tiempo de la búsqueda en segundos</translation>
    </message>
    <message>
        <source>Time used</source>
        <translation>Tiempo usado</translation>
    </message>
    <message>
        <source>looking at the sky</source>
        <translation>mirando el cielo</translation>
    </message>
    <message>
        <source>stopping, the best plan so far is kept</source>
        <translation>parando, se guarda el mejor plan hasta ahora</translation>
    </message>
    <message>
        <source>{used} of {limit} s  ·  {news}</source>
        <translation>{used} de {limit} s  ·  {news}</translation>
    </message>
</context>
<context>
    <name>PreviewModel</name>
    <message>
        <source>Color</source>
        <translation>Color</translation>
    </message>
    <message>
        <source>Customer</source>
        <translation>Cliente</translation>
    </message>
    <message>
        <source>Due</source>
        <translation>Plazo</translation>
    </message>
    <message>
        <source>Field</source>
        <translation>Campo</translation>
    </message>
    <message>
        <source>Order</source>
        <translation>Pedido</translation>
    </message>
    <message>
        <source>Product</source>
        <translation>Producto</translation>
    </message>
    <message>
        <source>Promised</source>
        <translation>Prometido</translation>
    </message>
    <message>
        <source>Quantity</source>
        <translation>Cantidad</translation>
    </message>
    <message>
        <source>Row</source>
        <translation>Fila</translation>
    </message>
    <message>
        <source>What becomes of it</source>
        <translation>En qué queda</translation>
    </message>
</context>
<context>
    <name>PublishDialog</name>
    <message>
        <source>&amp;Publish</source>
        <translation>&amp;Publicar</translation>
    </message>
    <message>
        <source>Reason</source>
        <translation>Motivo</translation>
    </message>
    <message>
        <source>Reason, needed: {n} changes lie in the frozen period</source>
        <translation>Motivo, necesario: {n} cambios caen en el periodo congelado</translation>
    </message>
    <message>
        <source>What is different from the plan in force</source>
        <translation>Qué es distinto del plan en vigor</translation>
    </message>
</context>
<context>
    <name>QuotePage</name>
    <message>
        <source>Ask again</source>
        <translation>Preguntar otra vez</translation>
    </message>
    <message>
        <source>Asked before</source>
        <translation>Preguntado antes</translation>
    </message>
    <message>
        <source>Copied: paste it into a mail.</source>
        <translation>Copiado: péguelo en un correo.</translation>
    </message>
    <message>
        <source>Copy as text</source>
        <translation>Copiar como texto</translation>
    </message>
    <message>
        <source>Customer</source>
        <translation>Cliente</translation>
    </message>
    <message>
        <source>Fill in what a customer would like to have and press “Check dates”. Nothing in the plan moves.</source>
        <translation>Rellene lo que un cliente quiere y pulse «Ver fechas». Nada se mueve en el plan.</translation>
    </message>
    <message>
        <source>In parts: {told}</source>
        <translation>Por partes: {told}</translation>
    </message>
    <message>
        <source>Keep until</source>
        <translation>Reservar hasta</translation>
    </message>
    <message>
        <source>Kept as {hold}</source>
        <translation>Reservado como {hold}</translation>
    </message>
    <message>
        <source>Kept for customers</source>
        <translation>Reservado para clientes</translation>
    </message>
    <message>
        <source>Kept until the end of</source>
        <translation>Reservado hasta el final de</translation>
    </message>
    <message>
        <source>Let go</source>
        <translation>Soltar</translation>
    </message>
    <message>
        <source>Make it an order</source>
        <translation>Hacerlo pedido</translation>
    </message>
    <message>
        <source>Note as an order without a promise</source>
        <translation>Anotar como pedido sin promesa</translation>
    </message>
    <message>
        <source>Out of date: {why}. Ask again before it is promised.</source>
        <translation>Caducada: {why}. Pregunte otra vez antes de prometerlo.</translation>
    </message>
    <message>
        <source>Quotes that were told before, the newest first</source>
        <translation>Ofertas dichas antes, la más nueva primero</translation>
    </message>
    <message>
        <source>What is asked for</source>
        <translation>Lo que se pide</translation>
    </message>
    <message>
        <source>What is kept for customers</source>
        <translation>Lo que se reserva para clientes</translation>
    </message>
    <message>
        <source>What limits it: {told}</source>
        <translation>Qué lo limita: {told}</translation>
    </message>
    <message>
        <source>What would help: {told}</source>
        <translation>Qué ayudaría: {told}</translation>
    </message>
</context>
<context>
    <name>QuoteWords</name>
    <message>
        <source>; on hand in another grade: {others}</source>
        <translation>; en existencia en otro grado: {others}</translation>
    </message>
    <message>
        <source>Asked {at} on {plan}; {outlook}; from {day} on: season average, not forecast.</source>
        <translation>Preguntado {at} con {plan}; {outlook}; desde {day}: media de la temporada, no pronóstico.</translation>
    </message>
    <message>
        <source>Crew: nobody is free to handle the molds before</source>
        <translation>Cuadrilla: nadie está libre para manejar los moldes antes</translation>
    </message>
    <message>
        <source>Finishing: benches, people at them or electricity are short</source>
        <translation>Acabado: faltan bancos, gente en ellos o electricidad</translation>
    </message>
    <message>
        <source>For these dates, at most this moves (nothing that is promised; a manager has to plan anew):</source>
        <translation>Para estas fechas se mueve a lo sumo esto (nada prometido; un gerente tiene que planificar de nuevo):</translation>
    </message>
    <message>
        <source>It can come in parts: {parts}.</source>
        <translation>Puede llegar por partes: {parts}.</translation>
    </message>
    <message>
        <source>Kept. {quote}</source>
        <translation>Reservado. {quote}</translation>
    </message>
    <message>
        <source>Molds: each copy is in use until then</source>
        <translation>Moldes: todos los ejemplares están en uso hasta entonces</translation>
    </message>
    <message>
        <source>Not kept: {what}</source>
        <translation>No guardado: {what}</translation>
    </message>
    <message>
        <source>Nothing is kept for you yet; the dates may change until you order.</source>
        <translation>Aún no se le reserva nada; las fechas pueden cambiar hasta que haga el pedido.</translation>
    </message>
    <message>
        <source>Nothing is short: cooking, cooling, rest and finishing take so long</source>
        <translation>No falta nada: cocer, enfriar, reposar y acabar tardan tanto</translation>
    </message>
    <message>
        <source>Out of date. {quote}</source>
        <translation>Caducada. {quote}</translation>
    </message>
    <message>
        <source>Quote {number}: {what}</source>
        <translation>Oferta {number}: {what}</translation>
    </message>
    <message>
        <source>Resin or inserts are short</source>
        <translation>Faltan resina o insertos</translation>
    </message>
    <message>
        <source>Several things at once, none of which would help alone</source>
        <translation>Varias cosas a la vez, de las que ninguna ayudaría sola</translation>
    </message>
    <message>
        <source>Sun: fields and chambers are taken until then</source>
        <translation>Sol: campos y cámaras están ocupados hasta entonces</translation>
    </message>
    <message>
        <source>We can give no date for all of it yet: {told}.</source>
        <translation>Aún no podemos dar fecha para todo: {told}.</translation>
    </message>
    <message>
        <source>We expect it to be ready on {day}.</source>
        <translation>Esperamos que esté listo el {day}.</translation>
    </message>
    <message>
        <source>We expect it to be with you on {day} ({n} days on the way).</source>
        <translation>Esperamos que lo tenga el {day} ({n} días de camino).</translation>
    </message>
    <message>
        <source>We keep this for you to the end of {day}.</source>
        <translation>Se lo reservamos hasta el final del {day}.</translation>
    </message>
    <message>
        <source>We mold by sunlight, so these dates go with the weather.</source>
        <translation>Moldeamos con luz del sol, así que estas fechas van con el tiempo que haga.</translation>
    </message>
    <message>
        <source>We mold by sunlight; this far ahead the dates are season average, not forecast.</source>
        <translation>Moldeamos con luz del sol; tan lejos, las fechas son media de la temporada, no pronóstico.</translation>
    </message>
    <message>
        <source>by the forecast</source>
        <translation>por el pronóstico</translation>
    </message>
    <message>
        <source>in at least 19 of 20 weathers</source>
        <translation>en al menos 19 de 20 tiempos</translation>
    </message>
    <message>
        <source>in at least 5 of 10 weathers</source>
        <translation>en al menos 5 de 10 tiempos</translation>
    </message>
    <message>
        <source>in at least 8 of 10 weathers</source>
        <translation>en al menos 8 de 10 tiempos</translation>
    </message>
    <message>
        <source>leaves {day} {at}</source>
        <translation>sale {day} {at}</translation>
    </message>
    <message>
        <source>no date</source>
        <translation>sin fecha</translation>
    </message>
    <message>
        <source>no plan</source>
        <translation>sin plan</translation>
    </message>
    <message>
        <source>nobody named</source>
        <translation>nadie nombrado</translation>
    </message>
    <message>
        <source>not by {day}</source>
        <translation>no para el {day}</translation>
    </message>
    <message>
        <source>nothing would move</source>
        <translation>nada se movería</translation>
    </message>
    <message>
        <source>plan {n}</source>
        <translation>plan {n}</translation>
    </message>
    <message>
        <source>reached in {n} of 20 skies</source>
        <translation>se alcanza en {n} de 20 cielos</translation>
    </message>
    <message>
        <source>ready {at}</source>
        <translation>listo {at}</translation>
    </message>
    <message>
        <source>season average, not forecast</source>
        <translation>media de la temporada, no pronóstico</translation>
    </message>
    <message>
        <source>{amount} of {name} must be ordered at once; it takes {n} days and is here on {day}</source>
        <translation>hay que pedir {amount} de {name} enseguida; tarda {n} días y está aquí el {day}</translation>
    </message>
    <message>
        <source>{day} is wished: it can be promised.</source>
        <translation>Se desea {day}: se puede prometer.</translation>
    </message>
    <message>
        <source>{day} is wished: it cannot be promised, {n} of {all} pieces are there by then.</source>
        <translation>Se desea {day}: no se puede prometer, para entonces hay {n} de {all} piezas.</translation>
    </message>
    <message>
        <source>{id}, {who}: {what}, ready {day}; kept to the end of {until}</source>
        <translation>{id}, {who}: {what}, listo {day}; reservado hasta el final de {until}</translation>
    </message>
    <message>
        <source>{n} by {day}</source>
        <translation>{n} para {day}</translation>
    </message>
    <message>
        <source>{n} kg</source>
        <translation>{n} kg</translation>
    </message>
    <message>
        <source>{n} of {all} pieces by then</source>
        <translation>{n} de {all} piezas para entonces</translation>
    </message>
    <message>
        <source>{n} pieces</source>
        <translation>{n} piezas</translation>
    </message>
    <message>
        <source>{n} pieces lie finished and are nobody's; they go first.</source>
        <translation>{n} piezas están acabadas y no son de nadie; van primero.</translation>
    </message>
    <message>
        <source>{n} {product}, {color}</source>
        <translation>{n} {product}, {color}</translation>
    </message>
    <message>
        <source>{order} for {customer}</source>
        <translation>{order} para {customer}</translation>
    </message>
    <message>
        <source>{what}: {day}</source>
        <translation>{what}: {day}</translation>
    </message>
    <message>
        <source>{who}: not within the days looked at any more</source>
        <translation>{who}: ya no dentro de los días mirados</translation>
    </message>
    <message>
        <source>{who}: {day}, {h} h earlier</source>
        <translation>{who}: {day}, {h} h antes</translation>
    </message>
    <message>
        <source>{who}: {day}, {h} h later</source>
        <translation>{who}: {day}, {h} h después</translation>
    </message>
    <message>
        <source>{who}: {day}; it is in no plan yet</source>
        <translation>{who}: {day}; aún no está en ningún plan</translation>
    </message>
</context>
<context>
    <name>ReasonDialog</name>
    <message>
        <source>&amp;Name</source>
        <translation>&amp;Nombre</translation>
    </message>
    <message>
        <source>&amp;Reason</source>
        <translation>&amp;Motivo</translation>
    </message>
    <message>
        <source>Change in the frozen period</source>
        <translation>Cambio en el periodo congelado</translation>
    </message>
    <message>
        <source>Change it &amp;anyway</source>
        <translation>Cambiar de &amp;todos modos</translation>
    </message>
    <message>
        <source>The plan in force is frozen for {h} h from now. This changes:</source>
        <translation>El plan en vigor está congelado durante {h} h desde ahora. Esto cambia:</translation>
    </message>
</context>
<context>
    <name>ReviewPage</name>
    <message>
        <source>Drawing (SVG)</source>
        <translation>Dibujo (SVG)</translation>
    </message>
    <message>
        <source>Figure</source>
        <translation>Cifra</translation>
    </message>
    <message>
        <source>Figures</source>
        <translation>Cifras</translation>
    </message>
    <message>
        <source>Formula, counts and period of the figure</source>
        <translation>Fórmula, cuentas y período de la cifra</translation>
    </message>
    <message>
        <source>How many days back</source>
        <translation>Cuántos días atrás</translation>
    </message>
    <message>
        <source>Last {n} days</source>
        <translation>Últimos {n} días</translation>
    </message>
    <message>
        <source>Looking back ...</source>
        <translation>Mirando atrás ...</translation>
    </message>
    <message>
        <source>Numbers (CSV)</source>
        <translation>Números (CSV)</translation>
    </message>
    <message>
        <source>Picture (PNG)</source>
        <translation>Imagen (PNG)</translation>
    </message>
    <message>
        <source>Save ...</source>
        <translation>Guardar ...</translation>
    </message>
    <message>
        <source>Save: {chart}</source>
        <translation>Guardar: {chart}</translation>
    </message>
    <message>
        <source>Still being worked out ...</source>
        <translation>Aún se está calculando ...</translation>
    </message>
    <message>
        <source>Value</source>
        <translation>Valor</translation>
    </message>
    <message>
        <source>Work out anew</source>
        <translation>Calcular de nuevo</translation>
    </message>
</context>
<context>
    <name>ReviewWords</name>
    <message>
        <source> or </source>
        <translation> o </translation>
    </message>
    <message>
        <source>Cooks not begun in time, by cause</source>
        <translation>Cocciones no empezadas a tiempo, por causa</translation>
    </message>
    <message>
        <source>Counts</source>
        <translation>Cuentas</translation>
    </message>
    <message>
        <source>Cycles of the plan in force by unit, until now</source>
        <translation>Ciclos del plan en vigor por unidad, hasta ahora</translation>
    </message>
    <message>
        <source>Energy that benches drew in the dark</source>
        <translation>Energía que los bancos tomaron a oscuras</translation>
    </message>
    <message>
        <source>For</source>
        <translation>Para</translation>
    </message>
    <message>
        <source>Formula</source>
        <translation>Fórmula</translation>
    </message>
    <message>
        <source>From</source>
        <translation>De</translation>
    </message>
    <message>
        <source>Look at {look}: {change} of heat in {n} cycles since {day}, against {before} before; {errors} standard errors. All others: {others}.</source>
        <translation>Mire {look}: {change} de calor en {n} ciclos desde {day}, frente a {before} antes; {errors} errores típicos. Los demás: {others}.</translation>
    </message>
    <message>
        <source>No bench worked in the dark, and none was planned to.</source>
        <translation>Ningún banco trabajó a oscuras, ni estaba planificado.</translation>
    </message>
    <message>
        <source>No measured sun in this time: bring it in, or log it on the Today page.</source>
        <translation>No hay sol medido en este tiempo: tráigalo, o anótelo en la página Hoy.</translation>
    </message>
    <message>
        <source>No outlook was met by measured sun yet. Each one shown is kept, and scored when its sun was measured.</source>
        <translation>Ninguna previsión se ha encontrado aún con sol medido. Cada una mostrada se guarda, y se puntúa cuando se midió su sol.</translation>
    </message>
    <message>
        <source>No piece was planned or made in this time: log what is made on the Today page.</source>
        <translation>No se planificó ni hizo ninguna pieza en este tiempo: anote lo que se hace en la página Hoy.</translation>
    </message>
    <message>
        <source>No piece was scrapped or sent to rework in this time.</source>
        <translation>Ninguna pieza se desechó ni fue a reproceso en este tiempo.</translation>
    </message>
    <message>
        <source>No plan is in force: publish one to set beside it what is made.</source>
        <translation>Ningún plan está en vigor: publique uno para poner a su lado lo que se hace.</translation>
    </message>
    <message>
        <source>No planned start was missed, or no plan was in force: publish a plan to compare with.</source>
        <translation>No se perdió ningún inicio planificado, o no había plan en vigor: publique un plan con que comparar.</translation>
    </message>
    <message>
        <source>Nothing could be learned: it takes logged cycles and measured sun.</source>
        <translation>No se pudo aprender nada: hacen falta ciclos anotados y sol medido.</translation>
    </message>
    <message>
        <source>Of</source>
        <translation>De</translation>
    </message>
    <message>
        <source>Period</source>
        <translation>Período</translation>
    </message>
    <message>
        <source>Pieces of the plan in force by order, until now</source>
        <translation>Piezas del plan en vigor por pedido, hasta ahora</translation>
    </message>
    <message>
        <source>Pieces planned and made</source>
        <translation>Piezas planificadas y hechas</translation>
    </message>
    <message>
        <source>Range</source>
        <translation>Rango</translation>
    </message>
    <message>
        <source>Scrap and rework by reason [pieces]</source>
        <translation>Desecho y reproceso por motivo [piezas]</translation>
    </message>
    <message>
        <source>Sun within the band shown; 80 % is right</source>
        <translation>Sol dentro de la banda mostrada; 80 % es lo correcto</translation>
    </message>
    <message>
        <source>Timing</source>
        <translation>Momento</translation>
    </message>
    <message>
        <source>Trend</source>
        <translation>Tendencia</translation>
    </message>
    <message>
        <source>Unit</source>
        <translation>Unidad</translation>
    </message>
    <message>
        <source>What molds absorb, as a share of the physics, and how sure that is</source>
        <translation>Lo que absorben los moldes, como parte de la física, y qué tan seguro es</translation>
    </message>
    <message>
        <source>Where the usable heat went</source>
        <translation>Adónde fue el calor utilizable</translation>
    </message>
    <message>
        <source>any number</source>
        <translation>cualquier número</translation>
    </message>
    <message>
        <source>as planned</source>
        <translation>como se planificó</translation>
    </message>
    <message>
        <source>begun early</source>
        <translation>empezadas antes</translation>
    </message>
    <message>
        <source>chamber not free</source>
        <translation>cámara no libre</translation>
    </message>
    <message>
        <source>crew absent</source>
        <translation>cuadrilla ausente</translation>
    </message>
    <message>
        <source>drawn by benches</source>
        <translation>tomada por los bancos</translation>
    </message>
    <message>
        <source>equipment down</source>
        <translation>equipo fuera de servicio</translation>
    </message>
    <message>
        <source>from {low}</source>
        <translation>desde {low}</translation>
    </message>
    <message>
        <source>good</source>
        <translation>buenas</translation>
    </message>
    <message>
        <source>heat absorbed</source>
        <translation>calor absorbido</translation>
    </message>
    <message>
        <source>in good pieces</source>
        <translation>en piezas buenas</translation>
    </message>
    <message>
        <source>in molds still</source>
        <translation>aún en moldes</translation>
    </message>
    <message>
        <source>in rework</source>
        <translation>en reproceso</translation>
    </message>
    <message>
        <source>in scrap</source>
        <translation>en desecho</translation>
    </message>
    <message>
        <source>kWh</source>
        <translation>kWh</translation>
    </message>
    <message>
        <source>made otherwise</source>
        <translation>hechos de otro modo</translation>
    </message>
    <message>
        <source>mirrors stowed</source>
        <translation>espejos recogidos</translation>
    </message>
    <message>
        <source>mold not free</source>
        <translation>molde no libre</translation>
    </message>
    <message>
        <source>no mold to heat</source>
        <translation>sin molde que calentar</translation>
    </message>
    <message>
        <source>no sun</source>
        <translation>sin sol</translation>
    </message>
    <message>
        <source>not absorbed</source>
        <translation>no absorbido</translation>
    </message>
    <message>
        <source>not known</source>
        <translation>no se sabe</translation>
    </message>
    <message>
        <source>not told by the log</source>
        <translation>no lo dice el registro</translation>
    </message>
    <message>
        <source>planned</source>
        <translation>planificadas</translation>
    </message>
    <message>
        <source>rework</source>
        <translation>reproceso</translation>
    </message>
    <message>
        <source>scrapped</source>
        <translation>desechadas</translation>
    </message>
    <message>
        <source>share</source>
        <translation>parte</translation>
    </message>
    <message>
        <source>starts</source>
        <translation>inicios</translation>
    </message>
    <message>
        <source>the black paint of {name}</source>
        <translation>la pintura negra de {name}</translation>
    </message>
    <message>
        <source>the mirrors of {name} (dirt, aim, one that stands still)</source>
        <translation>los espejos de {name} (suciedad, puntería, uno parado)</translation>
    </message>
    <message>
        <source>the thermocouple of chamber {name}</source>
        <translation>el termopar de la cámara {name}</translation>
    </message>
    <message>
        <source>unit out of work</source>
        <translation>unidad fuera de servicio</translation>
    </message>
    <message>
        <source>up to {high}</source>
        <translation>hasta {high}</translation>
    </message>
    <message>
        <source>within P10 to P90</source>
        <translation>dentro de P10 a P90</translation>
    </message>
    <message>
        <source>{a} to {b} days</source>
        <translation>{a} a {b} días</translation>
    </message>
    <message>
        <source>{a} to {b} h</source>
        <translation>{a} a {b} h</translation>
    </message>
    <message>
        <source>{low} to {high}</source>
        <translation>{low} a {high}</translation>
    </message>
    <message>
        <source>{start} to {end}</source>
        <translation>{start} a {end}</translation>
    </message>
</context>
<context>
    <name>SeasonPage</name>
    <message>
        <source>1 of 10</source>
        <translation>1 de 10</translation>
    </message>
    <message>
        <source>5 of 10</source>
        <translation>5 de 10</translation>
    </message>
    <message>
        <source>9 of 10</source>
        <translation>9 de 10</translation>
    </message>
    <message>
        <source>All products</source>
        <translation>Todos los productos</translation>
    </message>
    <message>
        <source>How many months ahead</source>
        <translation>Cuántos meses por delante</translation>
    </message>
    <message>
        <source>Limited by</source>
        <translation>Limitado por</translation>
    </message>
    <message>
        <source>Month</source>
        <translation>Mes</translation>
    </message>
    <message>
        <source>Months ahead</source>
        <translation>Meses por delante</translation>
    </message>
    <message>
        <source>Ordered</source>
        <translation>Pedidas</translation>
    </message>
    <message>
        <source>Pieces that come through finishing in at least 9, 5 and 1 of 10 such months if the yard makes nothing else. Season average, not forecast: {source}.</source>
        <translation>Piezas que pasan el acabado en al menos 9, 5 y 1 de 10 meses así si el patio no hace otra cosa. Media de la temporada, no pronóstico: {source}.</translation>
    </message>
    <message>
        <source>Product</source>
        <translation>Producto</translation>
    </message>
    <message>
        <source>Save as PNG</source>
        <translation>Guardar como PNG</translation>
    </message>
    <message>
        <source>Save as SVG</source>
        <translation>Guardar como SVG</translation>
    </message>
    <message>
        <source>Save table as CSV</source>
        <translation>Guardar la tabla como CSV</translation>
    </message>
    <message>
        <source>Stop</source>
        <translation>Parar</translation>
    </message>
    <message>
        <source>Taken</source>
        <translation>Ocupadas</translation>
    </message>
    <message>
        <source>What the order book takes of each month</source>
        <translation>Lo que el libro de pedidos toma de cada mes</translation>
    </message>
    <message>
        <source>What the yard could make of a product if it made nothing else, in months of a typical year: season average, not forecast.</source>
        <translation>Lo que el patio podría hacer de un producto si no hiciera otra cosa, en meses de un año típico: media de la temporada, no pronóstico.</translation>
    </message>
    <message>
        <source>Work out</source>
        <translation>Calcular</translation>
    </message>
    <message>
        <source>all units</source>
        <translation>todas las unidades</translation>
    </message>
    <message>
        <source>crew</source>
        <translation>cuadrilla</translation>
    </message>
    <message>
        <source>finishing</source>
        <translation>acabado</translation>
    </message>
    <message>
        <source>in the order book</source>
        <translation>en el libro de pedidos</translation>
    </message>
    <message>
        <source>molds</source>
        <translation>moldes</translation>
    </message>
    <message>
        <source>pieces</source>
        <translation>piezas</translation>
    </message>
    <message>
        <source>resin</source>
        <translation>resina</translation>
    </message>
    <message>
        <source>several things</source>
        <translation>varias cosas</translation>
    </message>
    <message>
        <source>sun</source>
        <translation>sol</translation>
    </message>
    <message>
        <source>taken</source>
        <translation>ocupadas</translation>
    </message>
    <message>
        <source>time</source>
        <translation>tiempo</translation>
    </message>
    <message>
        <source>{n} months</source>
        <translation>{n} meses</translation>
    </message>
    <message>
        <source>{product}: 5 of 10 months, by unit; line: 9 to 1 of 10</source>
        <translation>{product}: 5 de 10 meses, por unidad; línea: 9 a 1 de 10</translation>
    </message>
</context>
<context>
    <name>Section</name>
    <message>
        <source>Field</source>
        <translation>Campo</translation>
    </message>
    <message>
        <source>Parts of the chosen row of {table}</source>
        <translation>Partes de la fila elegida de {table}</translation>
    </message>
    <message>
        <source>{column} of {table}</source>
        <translation>{column} de {table}</translation>
    </message>
</context>
<context>
    <name>SettingsDialog</name>
    <message>
        <source> s</source>
        <translation> s</translation>
    </message>
    <message>
        <source>&amp;Language</source>
        <translation>&amp;Idioma</translation>
    </message>
    <message>
        <source>&amp;Name of the person here</source>
        <translation>&amp;Nombre de la persona aquí</translation>
    </message>
    <message>
        <source>&amp;Search time</source>
        <translation>Tiempo de &amp;búsqueda</translation>
    </message>
    <message>
        <source>&amp;Theme</source>
        <translation>&amp;Tema</translation>
    </message>
    <message>
        <source>&amp;Units</source>
        <translation>&amp;Unidades</translation>
    </message>
    <message>
        <source>As the desktop</source>
        <translation>Como el escritorio</translation>
    </message>
    <message>
        <source>As the desktop's region</source>
        <translation>Como la región del escritorio</translation>
    </message>
    <message>
        <source>Dark</source>
        <translation>Oscuro</translation>
    </message>
    <message>
        <source>For sunlight</source>
        <translation>Para el sol</translation>
    </message>
    <message>
        <source>Light</source>
        <translation>Claro</translation>
    </message>
    <message>
        <source>Metric: °C, kg, m</source>
        <translation>Métricas: °C, kg, m</translation>
    </message>
    <message>
        <source>Settings of this seat</source>
        <translation>Ajustes de este puesto</translation>
    </message>
    <message>
        <source>The name stands beside what this seat logs, plans and publishes. Stored values are always metric. A new language or units show the window anew.</source>
        <translation>El nombre acompaña a lo que este puesto anota, planifica y publica. Los valores guardados son siempre métricos. Un idioma o unas unidades nuevas muestran la ventana de nuevo.</translation>
    </message>
    <message>
        <source>US: °F, lb, ft</source>
        <translation>EE. UU.: °F, lb, ft</translation>
    </message>
</context>
<context>
    <name>SheetWords</name>
    <message>
        <source>Charge</source>
        <translation>Cargar</translation>
    </message>
    <message>
        <source>Code</source>
        <translation>Código</translation>
    </message>
    <message>
        <source>Demold</source>
        <translation>Desmoldar</translation>
    </message>
    <message>
        <source>Done</source>
        <translation>Hecho</translation>
    </message>
    <message>
        <source>Heat</source>
        <translation>Calor</translation>
    </message>
    <message>
        <source>Issued {at} by {who}</source>
        <translation>Emitido {at} por {who}</translation>
    </message>
    <message>
        <source>Latest</source>
        <translation>Último</translation>
    </message>
    <message>
        <source>NOT ISSUED: no plan is in force</source>
        <translation>NO EMITIDO: ningún plan está en vigor</translation>
    </message>
    <message>
        <source>NOT ISSUED: plan {n} is in force</source>
        <translation>NO EMITIDO: el plan {n} está en vigor</translation>
    </message>
    <message>
        <source>Nothing is planned for this unit on this day.</source>
        <translation>Nada está planificado para esta unidad en este día.</translation>
    </message>
    <message>
        <source>What, crew</source>
        <translation>Qué, cuadrilla</translation>
    </message>
    <message>
        <source>hang {mold} in {chamber}</source>
        <translation>colgar {mold} en {chamber}</translation>
    </message>
    <message>
        <source>none</source>
        <translation>ninguno</translation>
    </message>
    <message>
        <source>sheet {page}</source>
        <translation>hoja {page}</translation>
    </message>
    <message>
        <source>to {at}</source>
        <translation>a {at}</translation>
    </message>
    <message>
        <source>{n} × {product}</source>
        <translation>{n} × {product}</translation>
    </message>
    <message>
        <source>{site}. Times at {share} confidence: a cook ends when the inside air has peaked, not by the clock. No start after the latest one. The field's safety rules come first.</source>
        <translation>{site}. Horas con {share} de confianza: una cocción acaba cuando el aire interior ha llegado a su máximo, no por el reloj. Ningún inicio después del último. Las reglas de seguridad del campo van primero.</translation>
    </message>
    <message>
        <source>{unit}  ·  {day} {year}  ·  plan {n}</source>
        <translation>{unit}  ·  {day} {year}  ·  plan {n}</translation>
    </message>
</context>
<context>
    <name>SkyWords</name>
    <message>
        <source>1 cook</source>
        <translation>1 cocción</translation>
    </message>
    <message>
        <source>; too few days to judge by</source>
        <translation>; muy pocos días para juzgar</translation>
    </message>
    <message>
        <source>Issued {issued}, {age} h old, reaches to {to}.</source>
        <translation>Emitido {issued}, hace {age} h, llega hasta {to}.</translation>
    </message>
    <message>
        <source>It is not asked again before {at}.</source>
        <translation>No se pregunta otra vez antes de {at}.</translation>
    </message>
    <message>
        <source>No forecast is in use: these are skies of the season, which do not age.</source>
        <translation>No hay pronóstico en uso: son cielos de la temporada, que no envejecen.</translation>
    </message>
    <message>
        <source>No newer forecast: {why}</source>
        <translation>No hay pronóstico más nuevo: {why}</translation>
    </message>
    <message>
        <source>No outlook was kept yet. Each that is shown is kept from now on, and scored by measured sun.</source>
        <translation>Aún no se guardó ninguna previsión. Cada una que se muestra se guarda desde ahora y se compara con el sol medido.</translation>
    </message>
    <message>
        <source>The service last answered {at}.</source>
        <translation>El servicio respondió por última vez {at}.</translation>
    </message>
    <message>
        <source>clouds likely</source>
        <translation>nubes probables</translation>
    </message>
    <message>
        <source>error {share} of the mean (RMSE)</source>
        <translation>error {share} de la media (RMSE)</translation>
    </message>
    <message>
        <source>fair day</source>
        <translation>día regular</translation>
    </message>
    <message>
        <source>good day</source>
        <translation>día bueno</translation>
    </message>
    <message>
        <source>no cook more</source>
        <translation>ninguna cocción más</translation>
    </message>
    <message>
        <source>no usable sun</source>
        <translation>sin sol utilizable</translation>
    </message>
    <message>
        <source>none</source>
        <translation>ninguno</translation>
    </message>
    <message>
        <source>poor day</source>
        <translation>día malo</translation>
    </message>
    <message>
        <source>sun likely</source>
        <translation>sol probable</translation>
    </message>
    <message>
        <source>sun or clouds</source>
        <translation>sol o nubes</translation>
    </message>
    <message>
        <source>takes {hours} crew hours</source>
        <translation>cuesta {hours} horas de cuadrilla</translation>
    </message>
    <message>
        <source>then {sky}</source>
        <translation>después {sky}</translation>
    </message>
    <message>
        <source>too dull</source>
        <translation>demasiado oscura</translation>
    </message>
    <message>
        <source>too sunny</source>
        <translation>demasiado soleada</translation>
    </message>
    <message>
        <source>wind may stow the mirrors {start} to {end} ({chance})</source>
        <translation>el viento puede recoger los espejos de {start} a {end} ({chance})</translation>
    </message>
    <message>
        <source>wind {chance}</source>
        <translation>viento {chance}</translation>
    </message>
    <message>
        <source>{a} to {b} days ahead</source>
        <translation>{a} a {b} días antes</translation>
    </message>
    <message>
        <source>{a} to {b} h ahead</source>
        <translation>{a} a {b} h antes</translation>
    </message>
    <message>
        <source>{chamber} {at}</source>
        <translation>{chamber} {at}</translation>
    </message>
    <message>
        <source>{cooks} more of {product}</source>
        <translation>{cooks} más de {product}</translation>
    </message>
    <message>
        <source>{first}–{last} · {n}</source>
        <translation>{first}–{last} · {n}</translation>
    </message>
    <message>
        <source>{kept}, against measured direct light:</source>
        <translation>{kept}, frente a luz directa medida:</translation>
    </message>
    <message>
        <source>{kept}, but no measured sun: bring it in, or log it on the Today page.</source>
        <translation>{kept}, pero no hay sol medido: tráigalo, o anótelo en la página Hoy.</translation>
    </message>
    <message>
        <source>{kept}; no hour that they speak of was measured yet.</source>
        <translation>{kept}; aún no se midió ninguna hora de la que hablan.</translation>
    </message>
    <message>
        <source>{kwh} kWh more</source>
        <translation>{kwh} kWh más</translation>
    </message>
    <message>
        <source>{likely} kWh</source>
        <translation>{likely} kWh</translation>
    </message>
    <message>
        <source>{likely} kWh ({low} to {high})</source>
        <translation>{likely} kWh ({low} a {high})</translation>
    </message>
    <message>
        <source>{n} cooks</source>
        <translation>{n} cocciones</translation>
    </message>
    <message>
        <source>{n} days</source>
        <translation>{n} días</translation>
    </message>
    <message>
        <source>{n} outlooks kept since {day}</source>
        <translation>{n} previsiones guardadas desde {day}</translation>
    </message>
    <message>
        <source>{share} less error than the last day (RMSE)</source>
        <translation>{share} menos error que el último día (RMSE)</translation>
    </message>
    <message>
        <source>{share} less error than the season (CRPS)</source>
        <translation>{share} menos error que la temporada (CRPS)</translation>
    </message>
    <message>
        <source>{share} of the hours within P10 to P90 (80% is right, {low} to {high} by chance)</source>
        <translation>{share} de las horas dentro de P10 a P90 (80% es lo correcto, {low} a {high} por azar)</translation>
    </message>
    <message>
        <source>{sky} all day</source>
        <translation>{sky} todo el día</translation>
    </message>
    <message>
        <source>{sky} until {at}</source>
        <translation>{sky} hasta {at}</translation>
    </message>
    <message>
        <source>{text}  ({start} to {until})</source>
        <translation>{text}  ({start} a {until})</translation>
    </message>
    <message>
        <source>{unit}, {product}</source>
        <translation>{unit}, {product}</translation>
    </message>
    <message>
        <source>{unit}: {heat}, {cooks}; {takes}</source>
        <translation>{unit}: {heat}, {cooks}; {takes}</translation>
    </message>
    <message>
        <source>{where} in {mold}: first start {first}, latest safe start {last}, {cooks}</source>
        <translation>{where} en {mold}: primer inicio {first}, último inicio seguro {last}, {cooks}</translation>
    </message>
    <message>
        <source>{where}: no start of that day reaches PIAT at this confidence</source>
        <translation>{where}: ningún inicio de ese día alcanza PIAT con esta confianza</translation>
    </message>
    <message>
        <source>{w} W/m² {sunny}</source>
        <translation>{w} W/m² {sunny}</translation>
    </message>
</context>
<context>
    <name>Summary</name>
    <message>
        <source>No plan for these days yet: press “Build plan” (Ctrl+B) at the top right.</source>
        <translation>Aún no hay plan para estos días: pulse «Crear plan» (Ctrl+B) arriba a la derecha.</translation>
    </message>
    <message>
        <source>No plan yet  ·  {n} open orders  ·  heat: {source}</source>
        <translation>Aún sin plan  ·  {n} pedidos abiertos  ·  calor: {source}</translation>
    </message>
    <message>
        <source>Plan {n} was made for another yard. </source>
        <translation>El plan {n} se hizo para otro patio. </translation>
    </message>
    <message>
        <source>changes not saved: {n}</source>
        <translation>cambios sin guardar: {n}</translation>
    </message>
    <message>
        <source>in force</source>
        <translation>en vigor</translation>
    </message>
    <message>
        <source>not published</source>
        <translation>no publicado</translation>
    </message>
</context>
<context>
    <name>TableEditor</name>
    <message>
        <source>Add</source>
        <translation>Añadir</translation>
    </message>
    <message>
        <source>Add a row to {table}</source>
        <translation>Añadir una fila a {table}</translation>
    </message>
    <message>
        <source>Duplicate</source>
        <translation>Duplicar</translation>
    </message>
    <message>
        <source>Duplicate the chosen row of {table}</source>
        <translation>Duplicar la fila elegida de {table}</translation>
    </message>
    <message>
        <source>Remove</source>
        <translation>Quitar</translation>
    </message>
    <message>
        <source>Remove the chosen row of {table}</source>
        <translation>Quitar la fila elegida de {table}</translation>
    </message>
    <message>
        <source>copied row in {table}</source>
        <translation>fila copiada en {table}</translation>
    </message>
    <message>
        <source>new row in {table}</source>
        <translation>fila nueva en {table}</translation>
    </message>
    <message>
        <source>removed row of {table}</source>
        <translation>fila quitada de {table}</translation>
    </message>
    <message>
        <source>{column} of {table}</source>
        <translation>{column} de {table}</translation>
    </message>
</context>
<context>
    <name>TimeAxis</name>
    <message>
        <source>Time axis</source>
        <translation>Eje del tiempo</translation>
    </message>
    <message>
        <source>now {time}</source>
        <translation>ahora {time}</translation>
    </message>
</context>
<context>
    <name>TodayPage</name>
    <message>
        <source> W/m²</source>
        <translation> W/m²</translation>
    </message>
    <message>
        <source>All mirrors are stowed</source>
        <translation>Todos los espejos están recogidos</translation>
    </message>
    <message>
        <source>Chambers</source>
        <translation>Cámaras</translation>
    </message>
    <message>
        <source>Direct light on the pyrheliometer</source>
        <translation>Luz directa en el pirheliómetro</translation>
    </message>
    <message>
        <source>Finishing</source>
        <translation>Acabado</translation>
    </message>
    <message>
        <source>Leave the note</source>
        <translation>Dejar la nota</translation>
    </message>
    <message>
        <source>Log the sun</source>
        <translation>Anotar el sol</translation>
    </message>
    <message>
        <source>Mirrors are back</source>
        <translation>Los espejos han vuelto</translation>
    </message>
    <message>
        <source>No finishing is planned for this shift.</source>
        <translation>No hay acabado planificado para este turno.</translation>
    </message>
    <message>
        <source>No plan is in force; the cards go by plan {n}.</source>
        <translation>Ningún plan está en vigor; las tarjetas siguen el plan {n}.</translation>
    </message>
    <message>
        <source>Nobody is on shift now.</source>
        <translation>Nadie está de turno ahora.</translation>
    </message>
    <message>
        <source>Note for the next shift</source>
        <translation>Nota para el turno siguiente</translation>
    </message>
    <message>
        <source>People</source>
        <translation>Personas</translation>
    </message>
    <message>
        <source>Plan anew</source>
        <translation>Planificar de nuevo</translation>
    </message>
    <message>
        <source>Plan {n} is in force.</source>
        <translation>El plan {n} está en vigor.</translation>
    </message>
    <message>
        <source>Publish plan {n}</source>
        <translation>Publicar el plan {n}</translation>
    </message>
    <message>
        <source>Sun, notes</source>
        <translation>Sol, notas</translation>
    </message>
    <message>
        <source>That was wrong</source>
        <translation>Eso estaba mal</translation>
    </message>
    <message>
        <source>The outlook has {likely} W/m² now ({low} to {high}).</source>
        <translation>La previsión tiene ahora {likely} W/m² ({low} a {high}).</translation>
    </message>
    <message>
        <source>The outlook says nothing of this hour.</source>
        <translation>La previsión no dice nada de esta hora.</translation>
    </message>
    <message>
        <source>There is no plan yet: press “Build plan”.</source>
        <translation>Aún no hay plan: pulse «Crear plan».</translation>
    </message>
    <message>
        <source>What the next shift must know</source>
        <translation>Lo que debe saber el turno siguiente</translation>
    </message>
    <message>
        <source>When it happened</source>
        <translation>Cuándo ocurrió</translation>
    </message>
    <message>
        <source>Who logs</source>
        <translation>Quién anota</translation>
    </message>
    <message>
        <source>just now</source>
        <translation>ahora mismo</translation>
    </message>
    <message>
        <source>logged by {name}</source>
        <translation>anotado por {name}</translation>
    </message>
    <message>
        <source>{at} {who}: {text}</source>
        <translation>{at} {who}: {text}</translation>
    </message>
    <message>
        <source>{m} min ago</source>
        <translation>hace {m} min</translation>
    </message>
    <message>
        <source>{text}: {n} waiting</source>
        <translation>{text}: {n} en espera</translation>
    </message>
</context>
<context>
    <name>Versions</name>
    <message>
        <source>Against plan {n}:</source>
        <translation>Frente al plan {n}:</translation>
    </message>
    <message>
        <source>Changes of the plan that are not saved: {n}.</source>
        <translation>Cambios del plan sin guardar: {n}.</translation>
    </message>
    <message>
        <source>Compare</source>
        <translation>Comparar</translation>
    </message>
    <message>
        <source>Kept as plan {n}; it is not in force yet.</source>
        <translation>Guardado como plan {n}; aún no está en vigor.</translation>
    </message>
    <message>
        <source>No cycle and no order is different.</source>
        <translation>Ningún ciclo ni pedido es distinto.</translation>
    </message>
    <message>
        <source>No plan is in force for these days yet.</source>
        <translation>Aún no hay plan en vigor para estos días.</translation>
    </message>
    <message>
        <source>Plan {n} is in force.</source>
        <translation>El plan {n} está en vigor.</translation>
    </message>
    <message>
        <source>Publish plan {n}</source>
        <translation>Publicar el plan {n}</translation>
    </message>
    <message>
        <source>Save the plan first; what is published is a version.</source>
        <translation>Guarde antes el plan; lo que se publica es una versión.</translation>
    </message>
</context>
<context>
    <name>VersionsDialog</name>
    <message>
        <source>An old version comes back as an edit, which can be looked at before it is saved.</source>
        <translation>Una versión anterior vuelve como edición, que se puede mirar antes de guardarla.</translation>
    </message>
    <message>
        <source>Bring it back</source>
        <translation>Recuperarla</translation>
    </message>
    <message>
        <source>Versions of the yard</source>
        <translation>Versiones del patio</translation>
    </message>
    <message>
        <source>{n}: {at} by {by}: {what}</source>
        <translation>{n}: {at} por {by}: {what}</translation>
    </message>
</context>
<context>
    <name>Wall</name>
    <message>
        <source>No cycle of the plan that is shown has the code “{text}”.</source>
        <translation>Ningún ciclo del plan mostrado tiene el código «{text}».</translation>
    </message>
    <message>
        <source>PDF (*.pdf)</source>
        <translation>PDF (*.pdf)</translation>
    </message>
    <message>
        <source>Save the shop sheets as PDF</source>
        <translation>Guardar las hojas de taller como PDF</translation>
    </message>
</context>
<context>
    <name>WaysDesk</name>
    <message>
        <source>Wait until the search that runs is over.</source>
        <translation>Espere a que termine la búsqueda en curso.</translation>
    </message>
</context>
<context>
    <name>WaysPanel</name>
    <message>
        <source> s</source>
        <translation> s</translation>
    </message>
    <message>
        <source>Best for the dates</source>
        <translation>Lo mejor para las fechas</translation>
    </message>
    <message>
        <source>Change as little as can be</source>
        <translation>Cambiar lo menos posible</translation>
    </message>
    <message>
        <source>Dropped: {name} in {chamber}, {at}</source>
        <translation>Quitado: {name} en {chamber}, {at}</translation>
    </message>
    <message>
        <source>Found: {name}. Searching on ...</source>
        <translation>Encontrado: {name}. Se sigue buscando ...</translation>
    </message>
    <message>
        <source>Keep the old plan</source>
        <translation>Mantener el plan anterior</translation>
    </message>
    <message>
        <source>Looking at the sky and the work in hand ...</source>
        <translation>Mirando el cielo y el trabajo en curso ...</translation>
    </message>
    <message>
        <source>Moved: {name} from {was} {then} to {chamber} {at}</source>
        <translation>Movido: {name} de {was} {then} a {chamber} {at}</translation>
    </message>
    <message>
        <source>New: {name} in {chamber}, {at}</source>
        <translation>Nuevo: {name} en {chamber}, {at}</translation>
    </message>
    <message>
        <source>No cycle and no order is different.</source>
        <translation>Ningún ciclo y ningún pedido es distinto.</translation>
    </message>
    <message>
        <source>Nothing is published yet.</source>
        <translation>Aún no se ha publicado nada.</translation>
    </message>
    <message>
        <source>Order {id}: {told}</source>
        <translation>Pedido {id}: {told}</translation>
    </message>
    <message>
        <source>Overtime tonight</source>
        <translation>Horas extra esta noche</translation>
    </message>
    <message>
        <source>Plan anew from now</source>
        <translation>Planificar de nuevo desde ahora</translation>
    </message>
    <message>
        <source>Publish as plan {n}</source>
        <translation>Publicar como plan {n}</translation>
    </message>
    <message>
        <source>Stop and show what was found</source>
        <translation>Parar y mostrar lo encontrado</translation>
    </message>
    <message>
        <source>Time of the search in seconds</source>
        <translation>Tiempo de la búsqueda en segundos</translation>
    </message>
    <message>
        <source>What would be different</source>
        <translation>Qué sería distinto</translation>
    </message>
    <message>
        <source>What would move?</source>
        <translation>¿Qué se movería?</translation>
    </message>
    <message>
        <source>Work in hand stays as it is. Three new ways stand beside the plan in force; nothing changes for the crew until one is published.</source>
        <translation>El trabajo en curso queda como está. Tres caminos nuevos están junto al plan en vigor; nada cambia para la cuadrilla hasta que se publique uno.</translation>
    </message>
    <message>
        <source>late, unfinished</source>
        <translation>tarde, incompletos</translation>
    </message>
    <message>
        <source>moves</source>
        <translation>movimientos</translation>
    </message>
    <message>
        <source>none</source>
        <translation>ninguno</translation>
    </message>
    <message>
        <source>orders on time</source>
        <translation>pedidos a tiempo</translation>
    </message>
    <message>
        <source>overtime</source>
        <translation>horas extra</translation>
    </message>
    <message>
        <source>pieces, mold changes</source>
        <translation>piezas, cambios de molde</translation>
    </message>
    <message>
        <source>promises hold</source>
        <translation>las promesas se cumplen</translation>
    </message>
    <message>
        <source>promises late</source>
        <translation>promesas tarde</translation>
    </message>
    <message>
        <source>{h} h</source>
        <translation>{h} h</translation>
    </message>
    <message>
        <source>{length} earlier</source>
        <translation>{length} antes</translation>
    </message>
    <message>
        <source>{length} later</source>
        <translation>{length} después</translation>
    </message>
    <message>
        <source>{name}, against the old plan:</source>
        <translation>{name}, frente al plan anterior:</translation>
    </message>
    <message>
        <source>{n} of 20 skies</source>
        <translation>{n} de 20 cielos</translation>
    </message>
    <message>
        <source>{n} of {all} jobs</source>
        <translation>{n} de {all} trabajos</translation>
    </message>
    <message>
        <source>{n}, by {h} h</source>
        <translation>{n}, de {h} h</translation>
    </message>
    <message>
        <source>{order} {product}, {color}</source>
        <translation>{order} {product}, {color}</translation>
    </message>
</context>
<context>
    <name>WeekPage</name>
    <message>
        <source>+</source>
        <translation>+</translation>
    </message>
    <message>
        <source>3 days</source>
        <translation>3 días</translation>
    </message>
    <message>
        <source>6 h</source>
        <translation>6 h</translation>
    </message>
    <message>
        <source>Day</source>
        <translation>Día</translation>
    </message>
    <message>
        <source>Day after ›</source>
        <translation>Día siguiente ›</translation>
    </message>
    <message>
        <source>Details of what is chosen</source>
        <translation>Detalles de lo elegido</translation>
    </message>
    <message>
        <source>Go to now (N)</source>
        <translation>Ir a ahora (N)</translation>
    </message>
    <message>
        <source>How to read the board</source>
        <translation>Cómo se lee el tablero</translation>
    </message>
    <message>
        <source>Let all orders stand equal again (Esc on the board)</source>
        <translation>Dejar otra vez todos los pedidos iguales (Esc en el tablero)</translation>
    </message>
    <message>
        <source>Now</source>
        <translation>Ahora</translation>
    </message>
    <message>
        <source>Order {id} stands out  ×</source>
        <translation>Destaca el pedido {id}  ×</translation>
    </message>
    <message>
        <source>Show the whole plan (0)</source>
        <translation>Mostrar el plan entero (0)</translation>
    </message>
    <message>
        <source>Week</source>
        <translation>Semana</translation>
    </message>
    <message>
        <source>Zoom in (+ on the board, or Ctrl and wheel)</source>
        <translation>Acercar (+ en el tablero, o Ctrl y rueda)</translation>
    </message>
    <message>
        <source>Zoom out (− on the board, or Ctrl and wheel)</source>
        <translation>Alejar (− en el tablero, o Ctrl y rueda)</translation>
    </message>
    <message>
        <source>‹ Day before</source>
        <translation>‹ Día anterior</translation>
    </message>
    <message>
        <source>−</source>
        <translation>−</translation>
    </message>
</context>
<context>
    <name>Welcome</name>
    <message>
        <source>A TMY3, TMY2, EPW or PVGIS file of a place near by: what the sun does in each season.</source>
        <translation>Un archivo TMY3, TMY2, EPW o PVGIS de un lugar cercano: lo que hace el sol en cada estación.</translation>
    </message>
    <message>
        <source>A folder of CSV and TOML files, as the command yardplan export yard writes them.</source>
        <translation>Una carpeta de archivos CSV y TOML, como los escribe la orden yardplan export yard.</translation>
    </message>
    <message>
        <source>An invented yard of six units with orders, a log and weather. Its clock stands still.</source>
        <translation>Un patio inventado de seis unidades con pedidos, registro y clima. Su reloj está parado.</translation>
    </message>
    <message>
        <source>Begin with an &amp;empty yard</source>
        <translation>Empezar con un patio &amp;vacío</translation>
    </message>
    <message>
        <source>Bring in a typical &amp;year of weather ...</source>
        <translation>Traer un &amp;año típico de clima ...</translation>
    </message>
    <message>
        <source>Bring in a yard from a &amp;folder ...</source>
        <translation>Traer un patio de una &amp;carpeta ...</translation>
    </message>
    <message>
        <source>Look around in the &amp;demo yard</source>
        <translation>Mirar el patio de &amp;demostración</translation>
    </message>
    <message>
        <source>The yard is there; its weather is not</source>
        <translation>El patio está; falta su clima</translation>
    </message>
    <message>
        <source>This database has no yard yet. How do you want to begin?</source>
        <translation>Esta base de datos aún no tiene patio. ¿Cómo quiere empezar?</translation>
    </message>
    <message>
        <source>Type in your site, units, molds and products on the Yard page.</source>
        <translation>Escriba su sitio, unidades, moldes y productos en la página Patio.</translation>
    </message>
    <message>
        <source>Welcome to yardplan</source>
        <translation>Bienvenido a yardplan</translation>
    </message>
    <message>
        <source>Without a typical year nothing can be said of the sun, and nothing planned.</source>
        <translation>Sin un año típico no se puede decir nada del sol, ni planificar nada.</translation>
    </message>
</context>
<context>
    <name>WhyLate</name>
    <message>
        <source>A unit is out of work</source>
        <translation>Una unidad está fuera de servicio</translation>
    </message>
    <message>
        <source>All heating places that suit it are taken by other work</source>
        <translation>Todos los lugares de calor que le sirven los ocupa otro trabajo</translation>
    </message>
    <message>
        <source>By {day} we can have {n} of {all} pieces ready.</source>
        <translation>Para el {day} podemos tener listas {n} de {all} piezas.</translation>
    </message>
    <message>
        <source>Close</source>
        <translation>Cerrar</translation>
    </message>
    <message>
        <source>Copied: paste it into a mail.</source>
        <translation>Copiado: péguelo en un correo.</translation>
    </message>
    <message>
        <source>Copy as text for the customer</source>
        <translation>Copiar como texto para el cliente</translation>
    </message>
    <message>
        <source>Enough, tell what is known</source>
        <translation>Basta, diga lo que se sabe</translation>
    </message>
    <message>
        <source>It could not be found out: {why}</source>
        <translation>No se pudo averiguar: {why}</translation>
    </message>
    <message>
        <source>It waits for the working hours of those who can do it</source>
        <translation>Espera las horas de trabajo de quienes pueden hacerlo</translation>
    </message>
    <message>
        <source>Looking at what stands in the way ...</source>
        <translation>Mirando qué lo impide ...</translation>
    </message>
    <message>
        <source>Measuring by searching again: {what}</source>
        <translation>Midiendo con otra búsqueda: {what}</translation>
    </message>
    <message>
        <source>Not tried: {changes}</source>
        <translation>Sin probar: {changes}</translation>
    </message>
    <message>
        <source>Order {id}: {state}</source>
        <translation>Pedido {id}: {state}</translation>
    </message>
    <message>
        <source>Parts have to rest before they are finished</source>
        <translation>Las piezas tienen que reposar antes de acabarse</translation>
    </message>
    <message>
        <source>Sun and battery leave too little electricity for finishing</source>
        <translation>Sol y batería dejan muy poca electricidad para el acabado</translation>
    </message>
    <message>
        <source>The benches for finishing are taken</source>
        <translation>Los bancos de acabado están ocupados</translation>
    </message>
    <message>
        <source>The crew that fills and opens molds is busy</source>
        <translation>La cuadrilla que llena y abre moldes está ocupada</translation>
    </message>
    <message>
        <source>The crew that hangs molds is busy</source>
        <translation>La cuadrilla que cuelga moldes está ocupada</translation>
    </message>
    <message>
        <source>The material for it is not here yet</source>
        <translation>El material para ello aún no está aquí</translation>
    </message>
    <message>
        <source>The mirrors that would heat it are heating other work</source>
        <translation>Los espejos que lo calentarían calientan otro trabajo</translation>
    </message>
    <message>
        <source>The mold for it is in use</source>
        <translation>Su molde está en uso</translation>
    </message>
    <message>
        <source>The reasons:</source>
        <translation>Los motivos:</translation>
    </message>
    <message>
        <source>The sky: there is too little sun to bring its mold to temperature</source>
        <translation>El cielo: hay muy poco sol para llevar su molde a temperatura</translation>
    </message>
    <message>
        <source>Those who finish parts are busy with other work</source>
        <translation>Quienes acaban piezas están ocupados con otro trabajo</translation>
    </message>
    <message>
        <source>We expect all of it to be ready on {day}.</source>
        <translation>Esperamos que todo esté listo el {day}.</translation>
    </message>
    <message>
        <source>What stands in the way:</source>
        <translation>Qué lo impide:</translation>
    </message>
    <message>
        <source>What would help, each measured by a new search:</source>
        <translation>Qué ayudaría, cada cosa medida con una búsqueda nueva:</translation>
    </message>
    <message>
        <source>Why is order {id} late?</source>
        <translation>¿Por qué va tarde el pedido {id}?</translation>
    </message>
    <message>
        <source>Why the order is late, and what would help</source>
        <translation>Por qué el pedido va tarde, y qué ayudaría</translation>
    </message>
    <message>
        <source>Your order of {n} {product}, {color}, wished for {day}:</source>
        <translation>Su pedido de {n} {product}, {color}, deseado para el {day}:</translation>
    </message>
    <message>
        <source>no difference for this order</source>
        <translation>ninguna diferencia para este pedido</translation>
    </message>
    <message>
        <source>no more than what longer search alone brings</source>
        <translation>no más que lo que da por sí sola una búsqueda más larga</translation>
    </message>
    <message>
        <source>{length} earlier</source>
        <translation>{length} antes</translation>
    </message>
    <message>
        <source>{length} later</source>
        <translation>{length} después</translation>
    </message>
    <message>
        <source>{n} pieces more of it</source>
        <translation>{n} piezas más</translation>
    </message>
    <message>
        <source>{why} ({share} of the time that counts).</source>
        <translation>{why} ({share} del tiempo que cuenta).</translation>
    </message>
</context>
<context>
    <name>WishForm</name>
    <message>
        <source> days</source>
        <translation> días</translation>
    </message>
    <message>
        <source>Add a product</source>
        <translation>Añadir un producto</translation>
    </message>
    <message>
        <source>Check dates</source>
        <translation>Ver fechas</translation>
    </message>
    <message>
        <source>Days on the way to the customer</source>
        <translation>Días de camino hasta el cliente</translation>
    </message>
    <message>
        <source>On the way</source>
        <translation>En camino</translation>
    </message>
    <message>
        <source>Wished day</source>
        <translation>Día deseado</translation>
    </message>
    <message>
        <source>Wished for</source>
        <translation>Deseado para</translation>
    </message>
    <message>
        <source>Work that is promised to nobody may move</source>
        <translation>El trabajo que no está prometido a nadie puede moverse</translation>
    </message>
</context>
<context>
    <name>WishLine</name>
    <message>
        <source>Color {n}</source>
        <translation>Color {n}</translation>
    </message>
    <message>
        <source>Leave product {n} out</source>
        <translation>Quitar el producto {n}</translation>
    </message>
    <message>
        <source>Product {n}</source>
        <translation>Producto {n}</translation>
    </message>
    <message>
        <source>Quantity {n}</source>
        <translation>Cantidad {n}</translation>
    </message>
</context>
<context>
    <name>Words</name>
    <message>
        <source>, its order is late {amount}</source>
        <translation>, su pedido llega {amount} tarde</translation>
    </message>
    <message>
        <source>, its order lacks {n} pieces</source>
        <translation>, a su pedido le faltan {n} piezas</translation>
    </message>
    <message>
        <source>Plan {number}</source>
        <translation>Plan {number}</translation>
    </message>
    <message>
        <source>Plan {number}  ·  {day} {year}</source>
        <translation>Plan {number}  ·  {day} {year}</translation>
    </message>
    <message>
        <source>Times are planned at {share} confidence: a cook ends when the inside air has reached its peak, not by the clock. The field's safety rules come first.</source>
        <translation>Las horas están planificadas con {share} de confianza: una cocción acaba cuando el aire interior ha llegado a su máximo, no por el reloj. Las reglas de seguridad del campo van primero.</translation>
    </message>
    <message>
        <source>at {percent} confidence</source>
        <translation>con {percent} de confianza</translation>
    </message>
    <message>
        <source>bench</source>
        <translation>banco</translation>
    </message>
    <message>
        <source>best found in its time</source>
        <translation>el mejor hallado en su tiempo</translation>
    </message>
    <message>
        <source>by dispatch rules alone</source>
        <translation>solo por reglas de despacho</translation>
    </message>
    <message>
        <source>chamber</source>
        <translation>cámara</translation>
    </message>
    <message>
        <source>changed by hand</source>
        <translation>cambiado a mano</translation>
    </message>
    <message>
        <source>charge</source>
        <translation>cargar</translation>
    </message>
    <message>
        <source>clean</source>
        <translation>limpiar</translation>
    </message>
    <message>
        <source>demold</source>
        <translation>desmoldar</translation>
    </message>
    <message>
        <source>evening {spent} of {left} kWh</source>
        <translation>noche {spent} de {left} kWh</translation>
    </message>
    <message>
        <source>gap not known</source>
        <translation>brecha desconocida</translation>
    </message>
    <message>
        <source>gap {percent}</source>
        <translation>brecha {percent}</translation>
    </message>
    <message>
        <source>hang {inn}</source>
        <translation>colgar {inn}</translation>
    </message>
    <message>
        <source>hang {mold}</source>
        <translation>colgar {mold}</translation>
    </message>
    <message>
        <source>hang {mold} ({name})</source>
        <translation>colgar {mold} ({name})</translation>
    </message>
    <message>
        <source>hang {mold} in {chamber}</source>
        <translation>colgar {mold} en {chamber}</translation>
    </message>
    <message>
        <source>heat: {source}</source>
        <translation>calor: {source}</translation>
    </message>
    <message>
        <source>late {amount}</source>
        <translation>{amount} tarde</translation>
    </message>
    <message>
        <source>latest start {at}</source>
        <translation>último inicio {at}</translation>
    </message>
    <message>
        <source>likely {likely} kWh ({low} to {high})</source>
        <translation>probable {likely} kWh ({low} a {high})</translation>
    </message>
    <message>
        <source>made {at}</source>
        <translation>hecho {at}</translation>
    </message>
    <message>
        <source>mold</source>
        <translation>molde</translation>
    </message>
    <message>
        <source>no bench of the kind has the power for it</source>
        <translation>ningún banco de ese tipo tiene la potencia</translation>
    </message>
    <message>
        <source>no mold for it fits a chamber</source>
        <translation>ningún molde para ello cabe en una cámara</translation>
    </message>
    <message>
        <source>no start in these days reaches PIAT at this confidence</source>
        <translation>ningún inicio de estos días alcanza PIAT con esta confianza</translation>
    </message>
    <message>
        <source>nobody needed</source>
        <translation>no hace falta nadie</translation>
    </message>
    <message>
        <source>nobody with the skill is on shift when needed</source>
        <translation>nadie con la habilidad está de turno cuando hace falta</translation>
    </message>
    <message>
        <source>not enough inserts on hand or coming</source>
        <translation>no hay bastantes insertos ni vienen</translation>
    </message>
    <message>
        <source>not enough resin on hand or coming</source>
        <translation>no hay bastante resina ni viene</translation>
    </message>
    <message>
        <source>nothing can be planned</source>
        <translation>no se puede planificar nada</translation>
    </message>
    <message>
        <source>on time</source>
        <translation>a tiempo</translation>
    </message>
    <message>
        <source>operator</source>
        <translation>operario</translation>
    </message>
    <message>
        <source>orders: {a} on time, {b} late, {c} unfinished</source>
        <translation>pedidos: {a} a tiempo, {b} tarde, {c} incompletos</translation>
    </message>
    <message>
        <source>out of work: {what} {id}, {reason}, {start} to {end}</source>
        <translation>fuera de servicio: {what} {id}, {reason}, {start} a {end}</translation>
    </message>
    <message>
        <source>proven best</source>
        <translation>óptimo demostrado</translation>
    </message>
    <message>
        <source>stopped, best so far</source>
        <translation>parado, el mejor hasta ahora</translation>
    </message>
    <message>
        <source>sun and battery leave too little for its finishing</source>
        <translation>sol y batería dejan muy poco para su acabado</translation>
    </message>
    <message>
        <source>take out {out}, hang {inn}</source>
        <translation>sacar {out}, colgar {inn}</translation>
    </message>
    <message>
        <source>the plan is full</source>
        <translation>el plan está lleno</translation>
    </message>
    <message>
        <source>unfinished: {missing} of {quantity} missing</source>
        <translation>incompleto: faltan {missing} de {quantity}</translation>
    </message>
    <message>
        <source>unit</source>
        <translation>unidad</translation>
    </message>
    <message>
        <source>whole yard</source>
        <translation>todo el patio</translation>
    </message>
    <message>
        <source>{bench}, {step}, order {order}, cycle {code}, {span}, {who}, {kwh} kWh</source>
        <translation>{bench}, {step}, pedido {order}, ciclo {code}, {span}, {who}, {kwh} kWh</translation>
    </message>
    <message>
        <source>{day}, {start} to {end}</source>
        <translation>{day}, {start} a {end}</translation>
    </message>
    <message>
        <source>{d} d</source>
        <translation>{d} d</translation>
    </message>
    <message>
        <source>{d} d {h} h</source>
        <translation>{d} d {h} h</translation>
    </message>
    <message>
        <source>{h} h</source>
        <translation>{h} h</translation>
    </message>
    <message>
        <source>{h} h {m} min</source>
        <translation>{h} h {m} min</translation>
    </message>
    <message>
        <source>{likely} kWh</source>
        <translation>{likely} kWh</translation>
    </message>
    <message>
        <source>{m} min</source>
        <translation>{m} min</translation>
    </message>
    <message>
        <source>{n} of 20</source>
        <translation>{n} de 20</translation>
    </message>
    <message>
        <source>{place}, mold change: {what}, {span}, crew {crew}</source>
        <translation>{place}, cambio de molde: {what}, {span}, cuadrilla {crew}</translation>
    </message>
    <message>
        <source>{place}, order {order}, {product} {color}, mold {mold}, planned {charge}, heat {heat} to {heat_end}, cool to {cool_end}, demold {demold} to {end}</source>
        <translation>{place}, pedido {order}, {product} {color}, molde {mold}, planificado {charge}, calor {heat} a {heat_end}, enfriar hasta {cool_end}, desmoldar {demold} a {end}</translation>
    </message>
    <message>
        <source>{place}: latest safe start of {product} on {day} is {at}</source>
        <translation>{place}: el último inicio seguro de {product} el {day} es {at}</translation>
    </message>
    <message>
        <source>{site}  ·  made {at} by {who}  ·  sheet {page}</source>
        <translation>{site}  ·  hecho {at} por {who}  ·  hoja {page}</translation>
    </message>
    <message>
        <source>{spent} of {left} kWh</source>
        <translation>{spent} de {left} kWh</translation>
    </message>
    <message>
        <source>{start} to {end}</source>
        <translation>{start} a {end}</translation>
    </message>
    <message>
        <source>{told}, locked</source>
        <translation>{told}, bloqueado</translation>
    </message>
    <message>
        <source>{unit} chamber {chamber}</source>
        <translation>{unit} cámara {chamber}</translation>
    </message>
    <message>
        <source>{unit}, {day}: battery charge before finishing; {reserve} of {full} kWh are never spent</source>
        <translation>{unit}, {day}: carga de la batería antes del acabado; {reserve} de {full} kWh no se gastan nunca</translation>
    </message>
    <message>
        <source>{unit}, {day}: heat of the field {likely}; band from P10 to P90, line P50</source>
        <translation>{unit}, {day}: calor del campo {likely}; banda de P10 a P90, línea P50</translation>
    </message>
    <message>
        <source>{unit}: {told} that the battery leaves for benches until sunrise</source>
        <translation>{unit}: {told} que la batería deja para los bancos hasta el amanecer</translation>
    </message>
    <message>
        <source>{who}: {what}, {place}, order {order}, {span}</source>
        <translation>{who}: {what}, {place}, pedido {order}, {span}</translation>
    </message>
</context>
<context>
    <name>YardDesk</name>
    <message>
        <source>Drop them</source>
        <translation>Descartarlas</translation>
    </message>
    <message>
        <source>Edits of the yard are not saved yet.</source>
        <translation>Las ediciones del patio aún no están guardadas.</translation>
    </message>
    <message>
        <source>Not saved, your edits are still here: {why}</source>
        <translation>No guardado, sus ediciones siguen aquí: {why}</translation>
    </message>
    <message>
        <source>The yard could not be read.</source>
        <translation>No se pudo leer el patio.</translation>
    </message>
    <message>
        <source>The yard of the folder is here as an edit; its orders, log and weather are not taken.</source>
        <translation>El patio de la carpeta está aquí como edición; sus pedidos, registro y tiempo no se toman.</translation>
    </message>
    <message>
        <source>Written: {what}</source>
        <translation>Escrito: {what}</translation>
    </message>
    <message>
        <source>brought in from {folder}</source>
        <translation>traído de {folder}</translation>
    </message>
    <message>
        <source>version {n} brought back</source>
        <translation>versión {n} recuperada</translation>
    </message>
</context>
<context>
    <name>YardPage</name>
    <message>
        <source>Both changed {tables}: there your rows would take the place of theirs.</source>
        <translation>Ambos cambiaron {tables}: ahí sus filas sustituirían a las del otro puesto.</translation>
    </message>
    <message>
        <source>Bring in a folder …</source>
        <translation>Traer una carpeta …</translation>
    </message>
    <message>
        <source>Drop edits</source>
        <translation>Descartar ediciones</translation>
    </message>
    <message>
        <source>Drop mine, take theirs</source>
        <translation>Descartar lo mío, tomar lo suyo</translation>
    </message>
    <message>
        <source>Edited, not saved yet: {what}.</source>
        <translation>Editado, aún sin guardar: {what}.</translation>
    </message>
    <message>
        <source>Folder with the files of a yard</source>
        <translation>Carpeta con los archivos de un patio</translation>
    </message>
    <message>
        <source>Go to the next one</source>
        <translation>Ir a la siguiente</translation>
    </message>
    <message>
        <source>Looking at the yard …</source>
        <translation>Mirando el patio …</translation>
    </message>
    <message>
        <source>More</source>
        <translation>Más</translation>
    </message>
    <message>
        <source>More on the yard</source>
        <translation>Más sobre el patio</translation>
    </message>
    <message>
        <source>New or empty folder for the files of the yard</source>
        <translation>Carpeta nueva o vacía para los archivos del patio</translation>
    </message>
    <message>
        <source>Parts of the yard</source>
        <translation>Partes del patio</translation>
    </message>
    <message>
        <source>Put mine on top of theirs</source>
        <translation>Poner lo mío sobre lo suyo</translation>
    </message>
    <message>
        <source>Redo</source>
        <translation>Rehacer</translation>
    </message>
    <message>
        <source>Save</source>
        <translation>Guardar</translation>
    </message>
    <message>
        <source>Saved as version {n}.</source>
        <translation>Guardado como versión {n}.</translation>
    </message>
    <message>
        <source>The yard was changed meanwhile by {by}: {what}.</source>
        <translation>Entretanto {by} cambió el patio: {what}.</translation>
    </message>
    <message>
        <source>There is no yard yet: fill in the site and one of each part, or bring in a folder.</source>
        <translation>Aún no hay patio: rellene el sitio y una fila de cada parte, o traiga una carpeta.</translation>
    </message>
    <message>
        <source>To be looked at before it can be saved: {n}.</source>
        <translation>Por revisar antes de poder guardarlo: {n}.</translation>
    </message>
    <message>
        <source>Undo</source>
        <translation>Deshacer</translation>
    </message>
    <message>
        <source>Version {n} of the yard, {at} by {by}: {what}.</source>
        <translation>Versión {n} del patio, {at} por {by}: {what}.</translation>
    </message>
    <message>
        <source>Version {n} of the yard.</source>
        <translation>Versión {n} del patio.</translation>
    </message>
    <message>
        <source>Versions …</source>
        <translation>Versiones …</translation>
    </message>
    <message>
        <source>Write to a folder …</source>
        <translation>Escribir en una carpeta …</translation>
    </message>
    <message>
        <source>Your edits are not saved and still here.</source>
        <translation>Sus ediciones no están guardadas y siguen aquí.</translation>
    </message>
    <message>
        <source>edits dropped</source>
        <translation>ediciones descartadas</translation>
    </message>
    <message>
        <source>edits put on another seat's yard</source>
        <translation>ediciones puestas sobre el patio de otro puesto</translation>
    </message>
    <message>
        <source>no longer known</source>
        <translation>ya no se sabe</translation>
    </message>
    <message>
        <source>rows in another order</source>
        <translation>filas en otro orden</translation>
    </message>
    <message>
        <source>somebody</source>
        <translation>alguien</translation>
    </message>
    <message>
        <source>{name}  ({n})</source>
        <translation>{name}  ({n})</translation>
    </message>
    <message>
        <source>{name}, {n} cells to be looked at</source>
        <translation>{name}, {n} celdas por revisar</translation>
    </message>
</context>
<context>
    <name>YardWords</name>
    <message>
        <source>Absorbs of the sun, 0.3 to 1</source>
        <translation>Absorbe del sol, 0,3 a 1</translation>
    </message>
    <message>
        <source>Amount, kg or pieces</source>
        <translation>Cantidad, kg o piezas</translation>
    </message>
    <message>
        <source>Arrives</source>
        <translation>Llega</translation>
    </message>
    <message>
        <source>Back to work below, m/s</source>
        <translation>Vuelven al trabajo por debajo de, m/s</translation>
    </message>
    <message>
        <source>Base load at night, kW</source>
        <translation>Carga base de noche, kW</translation>
    </message>
    <message>
        <source>Base load by day, kW</source>
        <translation>Carga base de día, kW</translation>
    </message>
    <message>
        <source>Battery round trip, 0.3 to 1</source>
        <translation>Ida y vuelta de la batería, 0,3 a 1</translation>
    </message>
    <message>
        <source>Battery, kWh</source>
        <translation>Batería, kWh</translation>
    </message>
    <message>
        <source>Begins</source>
        <translation>Empieza</translation>
    </message>
    <message>
        <source>Bench</source>
        <translation>Banco</translation>
    </message>
    <message>
        <source>Benches</source>
        <translation>Bancos</translation>
    </message>
    <message>
        <source>Breaks</source>
        <translation>Pausas</translation>
    </message>
    <message>
        <source>Cavities</source>
        <translation>Cavidades</translation>
    </message>
    <message>
        <source>Chamber</source>
        <translation>Cámara</translation>
    </message>
    <message>
        <source>Chambers</source>
        <translation>Cámaras</translation>
    </message>
    <message>
        <source>Charging, min</source>
        <translation>Carga, min</translation>
    </message>
    <message>
        <source>Color</source>
        <translation>Color</translation>
    </message>
    <message>
        <source>Color changes</source>
        <translation>Cambios de color</translation>
    </message>
    <message>
        <source>Color run last</source>
        <translation>Último color</translation>
    </message>
    <message>
        <source>Colors of resin</source>
        <translation>Colores de resina</translation>
    </message>
    <message>
        <source>Containers with their chambers, mirrors, solar panels and battery.</source>
        <translation>Contenedores con sus cámaras, espejos, paneles solares y batería.</translation>
    </message>
    <message>
        <source>Copies</source>
        <translation>Copias</translation>
    </message>
    <message>
        <source>Crew</source>
        <translation>Cuadrilla</translation>
    </message>
    <message>
        <source>Day off</source>
        <translation>Día libre</translation>
    </message>
    <message>
        <source>Days off</source>
        <translation>Días libres</translation>
    </message>
    <message>
        <source>Days until more is here</source>
        <translation>Días hasta que llegue más</translation>
    </message>
    <message>
        <source>Deliveries</source>
        <translation>Entregas</translation>
    </message>
    <message>
        <source>Demolding, min</source>
        <translation>Desmoldeo, min</translation>
    </message>
    <message>
        <source>Direction, ° from north</source>
        <translation>Dirección, ° desde el norte</translation>
    </message>
    <message>
        <source>Down-times</source>
        <translation>Paradas</translation>
    </message>
    <message>
        <source>Due</source>
        <translation>Vence</translation>
    </message>
    <message>
        <source>Duties</source>
        <translation>Servicios</translation>
    </message>
    <message>
        <source>East, m</source>
        <translation>Este, m</translation>
    </message>
    <message>
        <source>Emits of its heat, 0.05 to 1</source>
        <translation>Emite de su calor, 0,05 a 1</translation>
    </message>
    <message>
        <source>Ends</source>
        <translation>Termina</translation>
    </message>
    <message>
        <source>Fed by unit</source>
        <translation>Alimentado por la unidad</translation>
    </message>
    <message>
        <source>Finishing places, and the unit whose battery feeds each.</source>
        <translation>Puestos de acabado, y la unidad cuya batería alimenta cada uno.</translation>
    </message>
    <message>
        <source>Finishing steps</source>
        <translation>Pasos de acabado</translation>
    </message>
    <message>
        <source>First day</source>
        <translation>Primer día</translation>
    </message>
    <message>
        <source>From</source>
        <translation>Desde</translation>
    </message>
    <message>
        <source>From color</source>
        <translation>Del color</translation>
    </message>
    <message>
        <source>From mirror to mirror, m</source>
        <translation>De espejo a espejo, m</translation>
    </message>
    <message>
        <source>From row to row, m</source>
        <translation>De fila a fila, m</translation>
    </message>
    <message>
        <source>From, °F (adjusted)</source>
        <translation>Desde, °F (ajustados)</translation>
    </message>
    <message>
        <source>Further washes on</source>
        <translation>Otros lavados el</translation>
    </message>
    <message>
        <source>Heaviest mold with charge, kg</source>
        <translation>Molde más pesado con su carga, kg</translation>
    </message>
    <message>
        <source>Heavy work, min an hour</source>
        <translation>Trabajo pesado, min por hora</translation>
    </message>
    <message>
        <source>Height above the sea, m</source>
        <translation>Altura sobre el mar, m</translation>
    </message>
    <message>
        <source>Height of the first row, m</source>
        <translation>Altura de la primera fila, m</translation>
    </message>
    <message>
        <source>Height of the mold, m</source>
        <translation>Altura del molde, m</translation>
    </message>
    <message>
        <source>Height, m</source>
        <translation>Alto, m</translation>
    </message>
    <message>
        <source>Hottest shell, °C</source>
        <translation>Carcasa más caliente, °C</translation>
    </message>
    <message>
        <source>Hung molds</source>
        <translation>Moldes colgados</translation>
    </message>
    <message>
        <source>Inserts</source>
        <translation>Insertos</translation>
    </message>
    <message>
        <source>Inverter, kW</source>
        <translation>Inversor, kW</translation>
    </message>
    <message>
        <source>Item</source>
        <translation>Artículo</translation>
    </message>
    <message>
        <source>Jobs at once</source>
        <translation>Trabajos a la vez</translation>
    </message>
    <message>
        <source>Kind</source>
        <translation>Clase</translation>
    </message>
    <message>
        <source>Kind of bench</source>
        <translation>Clase de banco</translation>
    </message>
    <message>
        <source>Largest turning circle, m</source>
        <translation>Mayor círculo de giro, m</translation>
    </message>
    <message>
        <source>Last day</source>
        <translation>Último día</translation>
    </message>
    <message>
        <source>Latitude, °</source>
        <translation>Latitud, °</translation>
    </message>
    <message>
        <source>Least height of the sun, °</source>
        <translation>Altura mínima del sol, °</translation>
    </message>
    <message>
        <source>Load</source>
        <translation>Consumo</translation>
    </message>
    <message>
        <source>Loaders</source>
        <translation>Cargadoras</translation>
    </message>
    <message>
        <source>Loads by the clock</source>
        <translation>Consumos por horario</translation>
    </message>
    <message>
        <source>Longitude, °</source>
        <translation>Longitud, °</translation>
    </message>
    <message>
        <source>Metal</source>
        <translation>Metal</translation>
    </message>
    <message>
        <source>Minutes</source>
        <translation>Minutos</translation>
    </message>
    <message>
        <source>Minutes of work an hour from a temperature on; blank: the table of CDC/NIOSH. Local codes come first.</source>
        <translation>Minutos de trabajo por hora desde una temperatura; en blanco: la tabla de CDC/NIOSH. Las normas locales van primero.</translation>
    </message>
    <message>
        <source>Minutes to clean a mold between two colors; * stands for any.</source>
        <translation>Minutos para limpiar un molde entre dos colores; * vale por cualquiera.</translation>
    </message>
    <message>
        <source>Mirrors</source>
        <translation>Espejos</translation>
    </message>
    <message>
        <source>Mirrors stowed from a gust of, m/s</source>
        <translation>Espejos recogidos desde una racha de, m/s</translation>
    </message>
    <message>
        <source>Mirrors washed on</source>
        <translation>Espejos lavados el</translation>
    </message>
    <message>
        <source>Moderate work, min an hour</source>
        <translation>Trabajo moderado, min por hora</translation>
    </message>
    <message>
        <source>Mold</source>
        <translation>Molde</translation>
    </message>
    <message>
        <source>Mold and copy</source>
        <translation>Molde y copia</translation>
    </message>
    <message>
        <source>Molds</source>
        <translation>Moldes</translation>
    </message>
    <message>
        <source>Molds that make it</source>
        <translation>Moldes que lo hacen</translation>
    </message>
    <message>
        <source>Most heat on a mold, kW</source>
        <translation>Calor máximo en un molde, kW</translation>
    </message>
    <message>
        <source>Name</source>
        <translation>Nombre</translation>
    </message>
    <message>
        <source>North, m</source>
        <translation>Norte, m</translation>
    </message>
    <message>
        <source>Not before</source>
        <translation>No antes de</translation>
    </message>
    <message>
        <source>On hand, kg or pieces</source>
        <translation>Existencias, kg o piezas</translation>
    </message>
    <message>
        <source>Opened at, °C</source>
        <translation>Se abre a, °C</translation>
    </message>
    <message>
        <source>Operator</source>
        <translation>Operario</translation>
    </message>
    <message>
        <source>Outer surface, m²</source>
        <translation>Superficie exterior, m²</translation>
    </message>
    <message>
        <source>Outline for the mirrors, m</source>
        <translation>Contorno para los espejos, m</translation>
    </message>
    <message>
        <source>Overtime</source>
        <translation>Horas extra</translation>
    </message>
    <message>
        <source>Peak inside air (PIAT), °C</source>
        <translation>Pico del aire interior (PIAT), °C</translation>
    </message>
    <message>
        <source>People</source>
        <translation>Personas</translation>
    </message>
    <message>
        <source>People for a wash</source>
        <translation>Personas para un lavado</translation>
    </message>
    <message>
        <source>People for charging</source>
        <translation>Personas para la carga</translation>
    </message>
    <message>
        <source>People for demolding</source>
        <translation>Personas para el desmoldeo</translation>
    </message>
    <message>
        <source>Pieces in one product</source>
        <translation>Piezas en un producto</translation>
    </message>
    <message>
        <source>Places of the mirrors' centers, from the unit's container.</source>
        <translation>Lugares de los centros de los espejos, desde el contenedor de la unidad.</translation>
    </message>
    <message>
        <source>Power while it lasts, kW</source>
        <translation>Potencia mientras dura, kW</translation>
    </message>
    <message>
        <source>Power, kW</source>
        <translation>Potencia, kW</translation>
    </message>
    <message>
        <source>Product</source>
        <translation>Producto</translation>
    </message>
    <message>
        <source>Products</source>
        <translation>Productos</translation>
    </message>
    <message>
        <source>Radius of the first row, m</source>
        <translation>Radio de la primera fila, m</translation>
    </message>
    <message>
        <source>Reach to either side, °</source>
        <translation>Alcance a cada lado, °</translation>
    </message>
    <message>
        <source>Reason</source>
        <translation>Motivo</translation>
    </message>
    <message>
        <source>Reflectance lost a day, 0 to 0.1</source>
        <translation>Reflectancia perdida al día, 0 a 0,1</translation>
    </message>
    <message>
        <source>Reflectance when clean, 0.1 to 1</source>
        <translation>Reflectancia en limpio, 0,1 a 1</translation>
    </message>
    <message>
        <source>Resin</source>
        <translation>Resina</translation>
    </message>
    <message>
        <source>Resin and inserts</source>
        <translation>Resina e insertos</translation>
    </message>
    <message>
        <source>Resin for a piece, kg</source>
        <translation>Resina por pieza, kg</translation>
    </message>
    <message>
        <source>Resin in kg and inserts in pieces on hand; deliveries that are expected.</source>
        <translation>Existencias de resina en kg e insertos en piezas; entregas que se esperan.</translation>
    </message>
    <message>
        <source>Resin or insert</source>
        <translation>Resina o inserto</translation>
    </message>
    <message>
        <source>Resin run last</source>
        <translation>Última resina</translation>
    </message>
    <message>
        <source>Rest before, min</source>
        <translation>Reposo antes, min</translation>
    </message>
    <message>
        <source>Riggers to hang it</source>
        <translation>Montadores para colgarlo</translation>
    </message>
    <message>
        <source>Rise from row to row, m</source>
        <translation>Subida de fila a fila, m</translation>
    </message>
    <message>
        <source>Rows of mirrors</source>
        <translation>Filas de espejos</translation>
    </message>
    <message>
        <source>Shift</source>
        <translation>Turno</translation>
    </message>
    <message>
        <source>Shifts</source>
        <translation>Turnos</translation>
    </message>
    <message>
        <source>Site</source>
        <translation>Sitio</translation>
    </message>
    <message>
        <source>Skill</source>
        <translation>Destreza</translation>
    </message>
    <message>
        <source>Skills</source>
        <translation>Destrezas</translation>
    </message>
    <message>
        <source>Solar panels, kW</source>
        <translation>Paneles solares, kW</translation>
    </message>
    <message>
        <source>Stays in the battery, kWh</source>
        <translation>Queda en la batería, kWh</translation>
    </message>
    <message>
        <source>Step</source>
        <translation>Paso</translation>
    </message>
    <message>
        <source>Sun on people at molds, 0 to 1</source>
        <translation>Sol sobre quienes están en los moldes, 0 a 1</translation>
    </message>
    <message>
        <source>The crew. The plan itself asks for the skills handling, rigging and loader; finishing for others.</source>
        <translation>La cuadrilla. El plan mismo pide las destrezas handling, rigging y loader; el acabado, otras.</translation>
    </message>
    <message>
        <source>Time for a wash, min</source>
        <translation>Tiempo de un lavado, min</translation>
    </message>
    <message>
        <source>Time to hang it, min</source>
        <translation>Tiempo para colgarlo, min</translation>
    </message>
    <message>
        <source>Time zone</source>
        <translation>Zona horaria</translation>
    </message>
    <message>
        <source>To</source>
        <translation>Hasta</translation>
    </message>
    <message>
        <source>To color</source>
        <translation>Al color</translation>
    </message>
    <message>
        <source>Tools and what they are made of; copies are equal molds.</source>
        <translation>Moldes y de qué están hechos; las copias son moldes iguales.</translation>
    </message>
    <message>
        <source>Turbidity (Linke)</source>
        <translation>Turbidez (Linke)</translation>
    </message>
    <message>
        <source>Turning circle, m</source>
        <translation>Círculo de giro, m</translation>
    </message>
    <message>
        <source>Unit</source>
        <translation>Unidad</translation>
    </message>
    <message>
        <source>Unit, or *</source>
        <translation>Unidad, o *</translation>
    </message>
    <message>
        <source>Units</source>
        <translation>Unidades</translation>
    </message>
    <message>
        <source>Up, m</source>
        <translation>Altura, m</translation>
    </message>
    <message>
        <source>Upkeep</source>
        <translation>Mantenimiento</translation>
    </message>
    <message>
        <source>Usual humidity on hot days, %</source>
        <translation>Humedad habitual en días de calor, %</translation>
    </message>
    <message>
        <source>Wall, mm</source>
        <translation>Pared, mm</translation>
    </message>
    <message>
        <source>Washing, service and repair that is due; the planner finds its hour.</source>
        <translation>Lavado, servicio y reparación pendientes; el planificador halla su hora.</translation>
    </message>
    <message>
        <source>Weekdays</source>
        <translation>Días de la semana</translation>
    </message>
    <message>
        <source>Weight of one insert, kg</source>
        <translation>Peso de un inserto, kg</translation>
    </message>
    <message>
        <source>Weight of the shell, kg</source>
        <translation>Peso de la carcasa, kg</translation>
    </message>
    <message>
        <source>What a cavity gives; its finishing steps in their order; its inserts.</source>
        <translation>Lo que da una cavidad; sus pasos de acabado en orden; sus insertos.</translation>
    </message>
    <message>
        <source>What holds for all units: place, wind, people in the heat.</source>
        <translation>Lo que vale para todas las unidades: lugar, viento, personas en el calor.</translation>
    </message>
    <message>
        <source>What is done</source>
        <translation>Qué se hace</translation>
    </message>
    <message>
        <source>What is out of work when: holidays, repair, a person's absence of hours.</source>
        <translation>Qué está parado y cuándo: festivos, reparación, la ausencia de una persona por horas.</translation>
    </message>
    <message>
        <source>What is to be done</source>
        <translation>Qué hay que hacer</translation>
    </message>
    <message>
        <source>What units take by the clock beside their base load; * stands for each unit.</source>
        <translation>Lo que las unidades consumen por horario aparte de su carga base; * vale por cada unidad.</translation>
    </message>
    <message>
        <source>Which mold hangs where before the first entry of the log.</source>
        <translation>Qué molde cuelga dónde antes de la primera entrada del registro.</translation>
    </message>
    <message>
        <source>Which one</source>
        <translation>Cuál</translation>
    </message>
    <message>
        <source>Width, m</source>
        <translation>Ancho, m</translation>
    </message>
    <message>
        <source>Wind past the shield, 0 to 1</source>
        <translation>Viento tras la pantalla, 0 a 1</translation>
    </message>
    <message>
        <source>Work in the heat</source>
        <translation>Trabajo con calor</translation>
    </message>
    <message>
        <source>Working time by the yard's clock; breaks as start+minutes.</source>
        <translation>Horario por el reloj del patio; pausas como inicio+minutos.</translation>
    </message>
</context>
<context>
    <name>day</name>
    <message>
        <source>a note for the next shift</source>
        <translation>una nota para el turno siguiente</translation>
    </message>
    <message>
        <source>another mold hangs in {what}</source>
        <translation>otro molde cuelga en {what}</translation>
    </message>
    <message>
        <source>decided about {what}</source>
        <translation>decidido sobre {what}</translation>
    </message>
    <message>
        <source>finishing begun at {what}</source>
        <translation>acabado empezado en {what}</translation>
    </message>
    <message>
        <source>finishing done at {what}</source>
        <translation>acabado hecho en {what}</translation>
    </message>
    <message>
        <source>mirrors are back</source>
        <translation>los espejos han vuelto</translation>
    </message>
    <message>
        <source>mirrors are stowed</source>
        <translation>los espejos están recogidos</translation>
    </message>
    <message>
        <source>the sun is on {what}</source>
        <translation>el sol está sobre {what}</translation>
    </message>
    <message>
        <source>{what} is absent</source>
        <translation>{what} está ausente</translation>
    </message>
    <message>
        <source>{what} is back</source>
        <translation>{what} ha vuelto</translation>
    </message>
    <message>
        <source>{what} is charged</source>
        <translation>{what} está cargado</translation>
    </message>
    <message>
        <source>{what} is demolded</source>
        <translation>{what} está desmoldado</translation>
    </message>
    <message>
        <source>{what} lost its sun</source>
        <translation>{what} perdió su sol</translation>
    </message>
    <message>
        <source>{what} reached PIAT</source>
        <translation>{what} alcanzó PIAT</translation>
    </message>
</context>
<context>
    <name>import</name>
    <message>
        <source>; is that meant? {why}</source>
        <translation>; ¿es a propósito? {why}</translation>
    </message>
    <message>
        <source>bad: {why}</source>
        <translation>mal: {why}</translation>
    </message>
    <message>
        <source>its number is there already</source>
        <translation>su número ya está</translation>
    </message>
    <message>
        <source>its number is twice in the file</source>
        <translation>su número está dos veces en el archivo</translation>
    </message>
    <message>
        <source>new</source>
        <translation>nuevo</translation>
    </message>
    <message>
        <source>quantity</source>
        <translation>cantidad</translation>
    </message>
</context>
<context>
    <name>order_cells</name>
    <message>
        <source>An order needs a due date.</source>
        <translation>Un pedido necesita un plazo.</translation>
    </message>
    <message>
        <source>Nothing is promised.</source>
        <translation>No se promete nada.</translation>
    </message>
    <message>
        <source>Priority is 1 to 9, the weight of a day late.</source>
        <translation>La prioridad es de 1 a 9, el peso de un día de retraso.</translation>
    </message>
    <message>
        <source>There is no such time as {time}.</source>
        <translation>No existe la hora {time}.</translation>
    </message>
    <message>
        <source>{n} pieces</source>
        <translation>{n} piezas</translation>
    </message>
</context>
<context>
    <name>paper</name>
    <message>
        <source>PDF (*.pdf)</source>
        <translation>PDF (*.pdf)</translation>
    </message>
    <message>
        <source>Save the week as PDF</source>
        <translation>Guardar la semana como PDF</translation>
    </message>
</context>
<context>
    <name>review</name>
    <message>
        <source>1 - error of the outlooks shown 24 to 48 h before / error of the season's own distribution (CRPS)</source>
        <translation>1 - error de las previsiones mostradas de 24 a 48 h antes / error de la distribución propia de la temporada (CRPS)</translation>
    </message>
    <message>
        <source>80% is right</source>
        <translation>80% es lo correcto</translation>
    </message>
    <message>
        <source>Allocation efficiency</source>
        <translation>Eficiencia de asignación</translation>
    </message>
    <message>
        <source>Cooks begun in time</source>
        <translation>Cocciones empezadas a tiempo</translation>
    </message>
    <message>
        <source>Evening energy spent</source>
        <translation>Energía gastada de noche</translation>
    </message>
    <message>
        <source>First-pass yield</source>
        <translation>Rendimiento a la primera</translation>
    </message>
    <message>
        <source>Forecast against the season</source>
        <translation>Pronóstico frente a la temporada</translation>
    </message>
    <message>
        <source>Good pieces against plan</source>
        <translation>Piezas buenas frente al plan</translation>
    </message>
    <message>
        <source>Heat for a kilogram</source>
        <translation>Calor para un kilogramo</translation>
    </message>
    <message>
        <source>Heat that went into good pieces</source>
        <translation>Calor que entró en piezas buenas</translation>
    </message>
    <message>
        <source>ISO 22400-2, name and formula from memory</source>
        <translation>ISO 22400-2, nombre y fórmula de memoria</translation>
    </message>
    <message>
        <source>Minutes of heating off the model</source>
        <translation>Minutos de calentamiento fuera del modelo</translation>
    </message>
    <message>
        <source>Rework ratio</source>
        <translation>Tasa de reproceso</translation>
    </message>
    <message>
        <source>Scrap ratio</source>
        <translation>Tasa de desecho</translation>
    </message>
    <message>
        <source>Set-up ratio</source>
        <translation>Tasa de preparación</translation>
    </message>
    <message>
        <source>Sun within the band a day ahead</source>
        <translation>Sol dentro de la banda un día antes</translation>
    </message>
    <message>
        <source>Utilization efficiency</source>
        <translation>Eficiencia de utilización</translation>
    </message>
    <message>
        <source>absorbed kWh</source>
        <translation>kWh absorbidos</translation>
    </message>
    <message>
        <source>after ISO 22400-2, energy for a quantity made, from memory</source>
        <translation>según ISO 22400-2, energía para una cantidad hecha, de memoria</translation>
    </message>
    <message>
        <source>all hours</source>
        <translation>todas las horas</translation>
    </message>
    <message>
        <source>batteries</source>
        <translation>baterías</translation>
    </message>
    <message>
        <source>begun early</source>
        <translation>empezadas antes</translation>
    </message>
    <message>
        <source>begun in time</source>
        <translation>empezadas a tiempo</translation>
    </message>
    <message>
        <source>chamber not free</source>
        <translation>cámara no libre</translation>
    </message>
    <message>
        <source>chambers</source>
        <translation>cámaras</translation>
    </message>
    <message>
        <source>crew absent</source>
        <translation>cuadrilla ausente</translation>
    </message>
    <message>
        <source>cycles</source>
        <translation>ciclos</translation>
    </message>
    <message>
        <source>days</source>
        <translation>días</translation>
    </message>
    <message>
        <source>equipment down</source>
        <translation>equipo fuera de servicio</translation>
    </message>
    <message>
        <source>good kg</source>
        <translation>kg buenos</translation>
    </message>
    <message>
        <source>good pieces</source>
        <translation>piezas buenas</translation>
    </message>
    <message>
        <source>good pieces / pieces that the plans in force had demolded</source>
        <translation>piezas buenas / piezas que los planes en vigor hacían desmoldar</translation>
    </message>
    <message>
        <source>heat that molds absorbed / kg of good pieces, in cycles whose sun was measured throughout</source>
        <translation>calor que absorbieron los moldes / kg de piezas buenas, en ciclos cuyo sol se midió entero</translation>
    </message>
    <message>
        <source>heat that molds absorbed, by the share of their pieces that passed / heat that the mirrors sent or could have sent under the sun that was measured</source>
        <translation>calor que absorbieron los moldes, por la parte de sus piezas que pasaron / calor que los espejos enviaron o pudieron enviar con el sol que se midió</translation>
    </message>
    <message>
        <source>higher is better</source>
        <translation>más alto es mejor</translation>
    </message>
    <message>
        <source>hours</source>
        <translation>horas</translation>
    </message>
    <message>
        <source>hours busy</source>
        <translation>horas ocupadas</translation>
    </message>
    <message>
        <source>hours from charging to the end of demolding / the same hours in the plans in force; hours without usable sun are in neither, since no plan has a cycle there</source>
        <translation>horas desde la carga hasta el fin del desmoldeo / las mismas horas en los planes en vigor; las horas sin sol utilizable no están en ninguna, pues ningún plan tiene ciclos ahí</translation>
    </message>
    <message>
        <source>hours of charging</source>
        <translation>horas de carga</translation>
    </message>
    <message>
        <source>hours of charging, at most as many as the product asks for / these and the hours of heating and cooling; mold changes are logged as moments and are not in it</source>
        <translation>horas de carga, a lo sumo las que pide el producto / estas y las horas de calentar y enfriar; los cambios de molde se anotan como momentos y no están</translation>
    </message>
    <message>
        <source>hours of heating and cooling</source>
        <translation>horas de calentar y enfriar</translation>
    </message>
    <message>
        <source>hours of heating and cooling / hours from charging to the end of demolding; a cook that waits for heat does not count</source>
        <translation>horas de calentar y enfriar / horas desde la carga hasta el fin del desmoldeo; una cocción que espera calor no cuenta</translation>
    </message>
    <message>
        <source>hours of measured sun between P10 and P90 as shown 24 to 48 h before / hours measured</source>
        <translation>horas de sol medido entre P10 y P90 según se mostró de 24 a 48 h antes / horas medidas</translation>
    </message>
    <message>
        <source>kWh above the reserve</source>
        <translation>kWh sobre la reserva</translation>
    </message>
    <message>
        <source>kWh beside</source>
        <translation>kWh no absorbidos</translation>
    </message>
    <message>
        <source>kWh good</source>
        <translation>kWh en piezas buenas</translation>
    </message>
    <message>
        <source>kWh idle</source>
        <translation>kWh sin molde</translation>
    </message>
    <message>
        <source>kWh in the dark</source>
        <translation>kWh a oscuras</translation>
    </message>
    <message>
        <source>kWh inside</source>
        <translation>kWh aún en moldes</translation>
    </message>
    <message>
        <source>kWh out</source>
        <translation>kWh fuera de servicio</translation>
    </message>
    <message>
        <source>kWh rework</source>
        <translation>kWh en reproceso</translation>
    </message>
    <message>
        <source>kWh scrapped</source>
        <translation>kWh en desecho</translation>
    </message>
    <message>
        <source>kWh that benches drew in the dark / kWh that the batteries hold above their reserve, over the evenings with such work</source>
        <translation>kWh que los bancos tomaron a oscuras / kWh que las baterías guardan sobre su reserva, en las noches con tal trabajo</translation>
    </message>
    <message>
        <source>left out</source>
        <translation>dejados fuera</translation>
    </message>
    <message>
        <source>lower is better</source>
        <translation>más bajo es mejor</translation>
    </message>
    <message>
        <source>manager</source>
        <translation>gerente</translation>
    </message>
    <message>
        <source>manager, foreman</source>
        <translation>gerente, encargado</translation>
    </message>
    <message>
        <source>mirror fields</source>
        <translation>campos de espejos</translation>
    </message>
    <message>
        <source>mirrors stowed</source>
        <translation>espejos recogidos</translation>
    </message>
    <message>
        <source>mold not free</source>
        <translation>molde no libre</translation>
    </message>
    <message>
        <source>molds</source>
        <translation>moldes</translation>
    </message>
    <message>
        <source>neither</source>
        <translation>ninguna</translation>
    </message>
    <message>
        <source>no bench worked in the dark</source>
        <translation>ningún banco trabajó a oscuras</translation>
    </message>
    <message>
        <source>no cycle was made</source>
        <translation>no se hizo ningún ciclo</translation>
    </message>
    <message>
        <source>no outlook was met by measured sun</source>
        <translation>ninguna previsión se encontró con sol medido</translation>
    </message>
    <message>
        <source>no plan was in force</source>
        <translation>ningún plan estaba en vigor</translation>
    </message>
    <message>
        <source>no reason told</source>
        <translation>sin motivo dicho</translation>
    </message>
    <message>
        <source>no sun</source>
        <translation>sin sol</translation>
    </message>
    <message>
        <source>no sun was measured</source>
        <translation>no se midió el sol</translation>
    </message>
    <message>
        <source>not told</source>
        <translation>no dicho</translation>
    </message>
    <message>
        <source>nothing to fit</source>
        <translation>nada que ajustar</translation>
    </message>
    <message>
        <source>on demand, for the days looked at</source>
        <translation>a petición, para los días mirados</translation>
    </message>
    <message>
        <source>outliers</source>
        <translation>atípicos</translation>
    </message>
    <message>
        <source>outlook</source>
        <translation>previsión</translation>
    </message>
    <message>
        <source>own</source>
        <translation>propia</translation>
    </message>
    <message>
        <source>pieces</source>
        <translation>piezas</translation>
    </message>
    <message>
        <source>pieces good at once / pieces out of molds</source>
        <translation>piezas buenas de una vez / piezas salidas de moldes</translation>
    </message>
    <message>
        <source>pieces to be reworked / pieces out of molds</source>
        <translation>piezas a reprocesar / piezas salidas de moldes</translation>
    </message>
    <message>
        <source>pieces to rework</source>
        <translation>piezas a reproceso</translation>
    </message>
    <message>
        <source>planned hours</source>
        <translation>horas planificadas</translation>
    </message>
    <message>
        <source>planned kWh in the dark</source>
        <translation>kWh a oscuras planificados</translation>
    </message>
    <message>
        <source>planned pieces</source>
        <translation>piezas planificadas</translation>
    </message>
    <message>
        <source>planned starts</source>
        <translation>inicios planificados</translation>
    </message>
    <message>
        <source>scrapped pieces</source>
        <translation>piezas desechadas</translation>
    </message>
    <message>
        <source>scrapped pieces / pieces out of molds</source>
        <translation>piezas desechadas / piezas salidas de moldes</translation>
    </message>
    <message>
        <source>share of the light measured</source>
        <translation>parte de la luz que se midió</translation>
    </message>
    <message>
        <source>standard deviation of logged less fitted minutes of heating, cycles that do not fit in left out</source>
        <translation>desviación típica de los minutos de calentamiento anotados menos los ajustados, sin los ciclos que no encajan</translation>
    </message>
    <message>
        <source>starts of heat within 30 min of the plan in force at that time / starts that it had</source>
        <translation>inicios de calor a menos de 30 min del plan en vigor en ese momento / inicios que tenía</translation>
    </message>
    <message>
        <source>still being worked out</source>
        <translation>aún se está calculando</translation>
    </message>
    <message>
        <source>too few days to judge by</source>
        <translation>muy pocos días para juzgar</translation>
    </message>
    <message>
        <source>usable kWh</source>
        <translation>kWh utilizables</translation>
    </message>
    <message>
        <source>warnings</source>
        <translation>avisos</translation>
    </message>
    <message>
        <source>yard</source>
        <translation>patio</translation>
    </message>
</context>
<context>
    <name>trouble</name>
    <message>
        <source>A report is in {folder}. Please look through it and pass it on.</source>
        <translation>Hay un informe en {folder}. Por favor, revíselo y páselo.</translation>
    </message>
    <message>
        <source>A report was saved as {path}.</source>
        <translation>Se guardó un informe como {path}.</translation>
    </message>
    <message>
        <source>Copy the report</source>
        <translation>Copiar el informe</translation>
    </message>
    <message>
        <source>Nothing was sent. Please look through the report and pass it on.</source>
        <translation>No se envió nada. Por favor, revise el informe y páselo.</translation>
    </message>
    <message>
        <source>Publish anyway</source>
        <translation>Publicar de todos modos</translation>
    </message>
    <message>
        <source>Something went wrong inside yardplan. What was kept before is unchanged, what you typed is still there, and you can go on.</source>
        <translation>Algo falló dentro de yardplan. Lo guardado antes no ha cambiado, lo que escribió sigue ahí, y puede continuar.</translation>
    </message>
    <message>
        <source>The report could not be saved: copy it from the details.</source>
        <translation>No se pudo guardar el informe: cópielo de los detalles.</translation>
    </message>
    <message>
        <source>The yard has no weather yet.

Bring in a typical-year file: File &gt; Bring in weather, or on the command line: yardplan import weather FILE</source>
        <translation>El patio aún no tiene clima.

Traiga un archivo de año típico: Archivo &gt; Traer el clima, o en la línea de órdenes: yardplan import weather FILE</translation>
    </message>
    <message>
        <source>There is no yard in this database yet.

Look around in an invented one: File &gt; Bring in the demo yard, or on the command line: yardplan demo

Bring in your own: File &gt; Bring in a yard, or on the command line: yardplan import yard FOLDER</source>
        <translation>Aún no hay patio en esta base de datos.

Mire uno inventado: Archivo &gt; Traer el patio de demostración, o en la línea de órdenes: yardplan demo

Traiga el suyo: Archivo &gt; Traer un patio, o en la línea de órdenes: yardplan import yard FOLDER</translation>
    </message>
    <message>
        <source>yardplan broke down the last time it ran. All that it had kept is there.</source>
        <translation>yardplan se cayó la última vez que funcionó. Todo lo que había guardado está ahí.</translation>
    </message>
</context>
<context>
    <name>typed</name>
    <message>
        <source>There is no such day as {text}.</source>
        <translation>No hay tal día como {text}.</translation>
    </message>
    <message>
        <source>{text} pieces cannot be; type a whole number from 1 to {most}.</source>
        <translation>{text} piezas no puede ser; escriba un número entero de 1 a {most}.</translation>
    </message>
    <message>
        <source>“{text}” is no date; type it as {short} or {iso}.</source>
        <translation>«{text}» no es una fecha; escríbala como {short} o {iso}.</translation>
    </message>
    <message>
        <source>“{text}” is no whole number of pieces; type one from 1 to {most}.</source>
        <translation>«{text}» no es un número entero de piezas; escriba uno de 1 a {most}.</translation>
    </message>
</context>
</TS>
