/**
 * Whether the build is drawing the first screen. That screen does nothing until the scripts have loaded, so
 * controls whose input cannot be taken over then are disabled.
 */
export const drawnAhead: boolean = import.meta.env.SSR;
