/**
 * What the program assumes and what it leaves out, as the README lists it; papers that are filed carry it along. A test keeps both
 * the same, and rewrites this list from the README when told to update.
 */
export const ASSUMPTIONS: readonly (readonly [subject: string, assumption: string])[] = [
  ['air', 'ideal gas, R 287.0528 J/(kg K), gamma 1.4; one temperature; no water vapour'],
  [
    'heat of the air',
    'natural convection to the shell unless chosen otherwise (adiabatic, isothermal, polytropic, conductance, time constant); the oil surface exchanges none',
  ],
  ['shell', 'one temperature; 8 mm of steel and 8 W/(m2 K) to ambient where the file says nothing (choice)'],
  [
    'ambient air',
    'steady, a sine through the day or a table (`site.temperature`); 60 % relative humidity unless given (choice)',
  ],
  [
    'compressed air delivered',
    '10 K above ambient behind the cooler (choice); what drops out there is drained and counted, what drops out later is not',
  ],
  [
    'oil',
    'temperature fixed for a run; ISO VG mid-point and viscosity index 95 unless given; incompressible; the report says how much a degree would move the level',
  ],
  [
    'air in the oil',
    "Henry's law, Bunsen coefficient 0.09; towards saturation in 4 h, in 30 min while a pump feeds the tank (choices); saturated at the start; lost in the sump with the oil that leaves; `tank.dissolvedAir: { model: none }` for hand calculations",
  ],
  ['pipe friction', 'Churchill 1977, all regimes'],
  [
    'filter element',
    'resists in proportion to viscosity, from what is stated at that of the oil at 40 degC unless given; the bypass as given',
  ],
  ['heads of oil', 'counted only where `tank.bottomElevation` is given; return leg full'],
  ['outlet', 'oil at the outlet level means gas in the header: strokes stop and none after that is proven'],
  [
    'outlet shut-off',
    'where fitted (`tank.outletShutOff`) a float valve that shuts and opens at once; while it is shut no oil leaves, and pistons that need oil stand',
  ],
  ['sump', 'oil over the brim is lost; full until the level is 1 mm under it (choice)'],
  [
    'charge of the tank',
    'water-logged: air in less than 25 % of the vessel unless given, or pressure at the low alarm with the level at normal; air-bound: pressure at the cut-out with the level at the low alarm',
  ],
  [
    'standstill',
    'a piston stops when 1 Pa is left to drive it and breaks away when load and breakaway are overcome; where breakaway friction is hardly more than running friction, when at least 10 Pa is then left to drive it, 1 kPa if it had stopped on its way (choice)',
  ],
  ['load ahead of the oil', 'the driving side is held at 0.1 bar absolute, and the stroke is not proven (choice)'],
  [
    'drives',
    'without friction or backlash of their own; torque profiles are straight between points in valve position',
  ],
  ['spring return', 'the spring side is open to the air; a spring stroke draws no oil from the tank'],
  [
    'duty and standby',
    'at most two machines of a kind run in auto; one that runs keeps its place until the call ends; the duty changes over when its call ends at the stop, not when it is held off, tripped or without mains',
  ],
  [
    'failed machine',
    'loses its command, stays out until reset; forgotten when control power dies; overload trips stay',
  ],
  [
    'power back',
    'a pump is called when the level is under normal, and fills to the stop; the permissive of the compressors follows the level',
  ],
  ['hand', 'restarts by itself after its restart delay; never past high-high level, high or high-high pressure'],
  [
    'contacts',
    "start, normal and cut-in contacts close to call; alarm and stop contacts open to act, so that a broken wire alarms; their delay is the switch's own and runs without power",
  ],
  [
    'trip',
    'stands until reset, and not while the mains are lost; refuses commands to its valves meanwhile; strokes not begun when control power dies are lost',
  ],
  ['trip by control power', "the pilot's spring acts at once, without the trip delay"],
  ['blocked line', 'costs at flow Q what it cost at Q/(1 - share) when whole'],
  [
    'cylinder leak',
    'passes from the pressure side to the sump while the valve is under pressure; without a working non-return valve oil can go back to the tank (`mayBePushedBack`)',
  ],
  ['relief of a pump', 'linear from cracking to full flow and beyond'],
  [
    'relief of a compressor',
    'blows all off at its pressure, opens 5 % of gauge under it; unless given 10 % over the design pressure of the tank, or else over the highest setting (choices)',
  ],
  ['safety valve', 'opens at its set pressure, lift linear from reseat to full lift, shuts at reseat'],
  ['leaks', 'an ideal nozzle for air, a square-root law for oil, from the rate you measured at a pressure'],
  [
    'starters',
    'drop out with the mains; a starter contact proves the machine unless a flow switch is fitted, made at 20 % of rated flow (choice)',
  ],
  ['control power', 'outlasts the mains by 8 h unless given (choice: a station battery)'],
  ['deadbands not given', '10 mm, 0.15 bar (choice)'],
  [
    'highest pressure a pump works against',
    'high-high pressure where fitted, else that after a refill from the cut-out; line loss in oil as cold as the coolest hour',
  ],
  [
    'overcharge',
    'compressors to the cut-out at the duty start, refilled to the stop without loss of heat, charged in the coolest hour and met in the warmest of `site.temperature`',
  ],
  [
    'tuning',
    'starts an hour are the most there can be whatever is drawn, Q/(4 V) shared by machines that take turns; at most 6 where neither motor nor file says (choice); steps of 1 psi or 0.05 bar, 0.5 in or 10 mm (choice); gaps on the staircase at least both accuracies and the deadband',
  ],
  ['alarms', '2 s delay, latched until acknowledged, unless given (choice)'],
];

export const NOT_MODELLED: readonly string[] = [
  'Motion: inertia of oil, piston and pipeline; pressure waves; stick-slip; elasticity of oil and lines; the shift of a pilot.',
  'Oil: it keeps one temperature in a run, in tank, lines and sump alike (give it as it is when the mains fail), and no work or sun heats it; foam.',
  'Air: real-gas effects (under 0.5 % below 20 bar); water vapour; the water that drops out later in the tank.',
  'Machines: voltage dip, slip and windings of the motors; their losses in the energy, which is the work on oil and air; the power of a pump that runs dry; wear.',
  'Panel: shelving and suppression of alarms; analogue control. The table of machines gives starts an hour as means over the run; the most in any hour counts only against `allowedStarts`.',
  'Pipeline: no transient in it; the surge is that of an even closure.',
  'Moments: `replay` examines those of its file alone; of other moments of service only `worst` says something.',
  'Faults: `faults` begins them all at one instant and gives each one typical size, the same for every unit but where the plant sets a scale; it says nothing of how often they come.',
];
