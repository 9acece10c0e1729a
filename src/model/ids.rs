//! Dense ids: positions in the knowledge's own order.

macro_rules! dense_id {
    ($($name:ident $about:literal;)*) => {$(
        #[doc = $about]
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(pub u32);

        impl $name {
            /// As an index into the tables.
            #[must_use]
            pub fn index(self) -> usize { self.0 as usize }
            /// From an index of the tables.
            #[must_use]
            pub fn at(index: usize) -> Self { Self(u32::try_from(index).expect("fewer than 2^32 entries")) }
        }
    )*};
}

dense_id! {
    CauseId "A cause.";
    TestId "A test.";
    RepairId "A repair.";
    SymptomId "A symptom.";
    FactId "A fact about the site.";
}
