/** The units of mathjs without the rest of it, which would be most of the page. */
import { create, createUnitDependencies, type MathJsInstance, UnitDependencies, unitDependencies } from 'mathjs';

export const units: MathJsInstance = create({ createUnitDependencies, UnitDependencies, unitDependencies });
