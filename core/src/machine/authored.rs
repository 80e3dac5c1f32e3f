//! The macro that declares authored structs, in which every unknown field is an error.

macro_rules! authored {
    ($($(#[$meta:meta])* pub struct $name:ident { $($(#[$field_meta:meta])* pub $field:ident : $type:ty,)* })*) => {$(
        $(#[$meta])*
        #[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
        #[serde(deny_unknown_fields)]
        #[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
        #[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
        pub struct $name { $($(#[$field_meta])* pub $field: $type,)* }
    )*};
}
pub(super) use authored;
