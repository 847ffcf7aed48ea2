/**
 * The words in which a component states its parameters. A table of these stands beside each component's equation; the
 * file checker, the JSON Schema, the random plants of the property tests and the help all read the same table.
 *
 * Every value is SI inside: a pressure is absolute in Pa, a temperature in K, a fraction 0..1.
 */

/** What a quantity measures. Decides which units are read and which SI number comes out. */
export type Dimension =
  | 'pressure' // a level of pressure: Pa absolute; the unit must say gauge or absolute
  | 'pressureDifference' // Pa; bare psi, bar, kPa
  | 'temperature' // K
  | 'temperatureDifference' // K
  | 'time' // s
  | 'length' // m
  | 'angle' // rad
  | 'area' // m^2
  | 'volume' // m^3
  | 'volumeFlow' // m^3/s
  | 'mass' // kg
  | 'density' // kg/m^3
  | 'kinematicViscosity' // m^2/s
  | 'force' // N
  | 'torque' // N m
  | 'stiffness' // N/m
  | 'power' // W
  | 'speed' // m/s
  | 'rotationalSpeed' // 1/s
  | 'heatCapacity' // J/K
  | 'specificHeat' // J/(kg K)
  | 'thermalConductance' // W/K
  | 'linearResistance' // Pa s/m^3
  | 'quadraticResistance' // Pa s^2/m^6
  | 'pressureRate' // Pa/s
  | 'flowCoefficient' // m^3/s at 1 Pa drop and 1000 kg/m^3 (written "Cv 12" or "Kv 10")
  | 'fraction'; // 0..1, written as a plain number or with %

export interface Quantity<D extends Dimension = Dimension> {
  readonly kind: 'quantity';
  readonly dimension: D;
  readonly meaning: string;
  /** Inclusive and exclusive limits, SI. */
  readonly min?: number;
  readonly max?: number;
  readonly above?: number;
  readonly below?: number;
  /** SI. A field without default that is not optional is required. */
  readonly default?: number;
  readonly optional?: true;
  /** As a user would write it; shown in messages and in the schema. */
  readonly example: string;
}
export interface NumberField {
  readonly kind: 'number';
  readonly meaning: string;
  readonly min?: number;
  readonly max?: number;
  readonly above?: number;
  readonly below?: number;
  readonly whole?: true;
  readonly default?: number;
  readonly optional?: true;
  readonly example: string;
}
export interface Flag {
  readonly kind: 'flag';
  readonly meaning: string;
  readonly default?: boolean;
  readonly optional?: true;
}
export interface Choice<C extends string = string> {
  readonly kind: 'choice';
  readonly of: readonly C[];
  readonly meaning: string;
  readonly default?: C;
  readonly optional?: true;
}
export interface Text {
  readonly kind: 'text';
  readonly meaning: string;
  readonly default?: string;
  readonly optional?: true;
  readonly example: string;
  /** A tag names one item of the plant: letters, digits, "-", "_", "."; unique in the whole file. */
  readonly tag?: true;
  /** A reference must equal a tag declared somewhere in the file. */
  readonly refers?: true;
}
export interface Group<T extends Table = Table> {
  readonly kind: 'group';
  readonly table: T;
  readonly meaning: string;
  /** Absent group: 'optional' leaves it undefined, 'defaults' reads an empty one (its required fields then fault). */
  readonly optional?: true;
  readonly defaults?: true;
  /** Keys of which exactly one must be present, for instance [['altitude', 'barometer']]. */
  readonly oneOf?: readonly (readonly string[])[];
  /** Keys of which at most one may be present. */
  readonly atMostOneOf?: readonly (readonly string[])[];
  /** Keys that go together: when the first is present the others must be. */
  readonly together?: readonly (readonly string[])[];
}
export interface List<F extends Field = Field> {
  readonly kind: 'list';
  readonly of: F;
  readonly meaning: string;
  readonly minItems?: number;
  readonly maxItems?: number;
  readonly optional?: true;
  /** Absent list reads as empty. */
  readonly defaults?: true;
}
/** A value written in one of two shapes, for instance a constant force or a list of points. The YAML node type decides. */
export interface Either<A extends Field = Field, B extends Field = Field> {
  readonly kind: 'either';
  /** Used when the node is a scalar. */
  readonly scalar: A;
  /** Used when the node is a map or a list. */
  readonly compound: B;
  readonly meaning: string;
  readonly optional?: true;
  /** Key of the compound group that the scalar alone stands for. */
  readonly standsFor?: string;
}

export type Field = Quantity | NumberField | Flag | Choice | Text | Group | List | EitherField;
// Interfaces break the recursion that a type alias cannot.
export interface EitherField extends Either {}
export type Table = { readonly [key: string]: Field };

type Plain<F> = F extends Quantity | NumberField
  ? number
  : F extends Flag
    ? boolean
    : F extends Choice<infer C>
      ? C
      : F extends Text
        ? string
        : F extends Group<infer T>
          ? Values<T>
          : F extends List<infer I>
            ? readonly Plain<I>[]
            : F extends Either<infer A, infer B>
              ? Plain<A> | Plain<B>
              : never;
type OptionalKeys<T extends Table> = { [K in keyof T]: T[K] extends { optional: true } ? K : never }[keyof T];

/** The checked values of a table: required and defaulted keys always there, optional keys possibly missing. */
export type Values<T extends Table> = {
  readonly [K in Exclude<keyof T, OptionalKeys<T>>]: Plain<T[K]>;
} & { readonly [K in OptionalKeys<T>]?: Plain<T[K]> };

type Rest<F extends Field> = Omit<F, 'kind'>;

export const quantity = <D extends Dimension, const R extends Omit<Rest<Quantity>, 'dimension'>>(
  dimension: D,
  rest: R,
) => ({ kind: 'quantity', dimension, ...rest }) as const;
export const number = <const R extends Rest<NumberField>>(rest: R) => ({ kind: 'number', ...rest }) as const;
export const flag = <const R extends Rest<Flag>>(rest: R) => ({ kind: 'flag', ...rest }) as const;
export const choice = <const C extends string, const R extends Omit<Rest<Choice<C>>, 'of'>>(
  of: readonly C[],
  rest: R,
) => ({ kind: 'choice', of, ...rest }) as const;
export const text = <const R extends Rest<Text>>(rest: R) => ({ kind: 'text', ...rest }) as const;
export const group = <const T extends Table, const R extends Omit<Rest<Group>, 'table'>>(table: T, rest: R) =>
  ({ kind: 'group', table, ...rest }) as const;
export const list = <const F extends Field, const R extends Omit<Rest<List>, 'of'>>(of: F, rest: R) =>
  ({ kind: 'list', of, ...rest }) as const;
export const either = <
  const A extends Field,
  const B extends Field,
  const R extends { meaning: string; optional?: true; standsFor?: string },
>(
  scalar: A,
  compound: B,
  rest: R,
) => ({ kind: 'either', scalar, compound, ...rest }) as const;
