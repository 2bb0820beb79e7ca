/** Version of the package, stated in every result; a test holds it equal to both package files. */
export const VERSION = '0.1.0';
