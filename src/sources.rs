//! Bibliography: one entry per published source, linked from the code that uses it. There is no code here;
//! a missing entry breaks the documentation build.
//!
//! Each entry is an empty type whose documentation is the reference.

macro_rules! source {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[allow(clippy::upper_case_acronyms)]
        pub enum $name {}
    };
}

source!(
    /// C. F. F. Karney, "Algorithms for geodesics", Journal of Geodesy 87 (2013) 43–55,
    /// doi 10.1007/s00190-012-0578-z.
    KARNEY2013
);
source!(
    /// C. F. F. Karney, "Transverse Mercator with an accuracy of a few nanometers", Journal of Geodesy 85 (2011)
    /// 475–485, doi 10.1007/s00190-011-0445-3.
    KARNEY2011
);
source!(
    /// Radio Regulations annexed to the International Telecommunication Convention, Atlantic City 1947,
    /// Appendix 15 § 5 (9): classes of bearings A ±2°, B ±5°, C ±10°.
    RR1947
);
source!(
    /// D. Blackman and S. Vigna, "Scrambled linear pseudorandom number generators", ACM Transactions on Mathematical
    /// Software 47 (2021) 36.
    BLACKMAN2021
);
source!(
    /// G. H. Golub and J. H. Welsch, "Calculation of Gauss quadrature rules", Mathematics of Computation 23 (1969)
    /// 221–230.
    GOLUB1969
);
source!(
    /// A. Chulliat et al., "The US/UK World Magnetic Model for 2025–2030: Technical Report", NOAA National Centers for
    /// Environmental Information (2025); error model of the declination and official test values.
    WMM2025
);
source!(
    /// Code of Federal Regulations, title 47, § 1.1310, Table 1: limits for maximum permissible exposure (power density,
    /// 0.3 MHz to 100 GHz, 2015 edition).
    CFR1310
);
source!(
    /// International Commission on Non-Ionizing Radiation Protection, "Guidelines for limiting exposure to
    /// electromagnetic fields (100 kHz to 300 GHz)", Health Physics 118 (2020) 483–524: reference levels for the whole body
    /// (30 minutes; carried from memory) and local (6 minutes).
    ICNIRP2020
);
source!(
    /// D. W. Marquardt, "An algorithm for least-squares estimation of nonlinear parameters", Journal of the Society for
    /// Industrial and Applied Mathematics 11 (1963) 431–441.
    MARQUARDT1963
);
source!(
    /// J. J. Moré, "The Levenberg–Marquardt algorithm: implementation and theory", in Numerical Analysis, Lecture Notes in
    /// Mathematics 630 (Springer 1978) 105–116: scaling by the greatest column lengths so far.
    MORE1978
);
source!(
    /// H. B. Nielsen, "Damping parameter in Marquardt's method", report IMM-REP-1999-05, Technical University of Denmark
    /// (1999).
    NIELSEN1999
);
source!(
    /// D. M. Bates and D. G. Watts, "A relative offset orthogonality convergence criterion for nonlinear least squares",
    /// Technometrics 23 (1981) 179–183.
    BATES1981
);
source!(
    /// G. H. Golub and C. F. Van Loan, "Matrix Computations", 4th edition (Johns Hopkins 2013): plane rotations.
    GOLUB2013
);
source!(
    /// C. J. F. Ridders, "Accurate computation of F′(x) and F′(x) F″(x)", Advances in Engineering Software 4 (1982) 75–76.
    RIDDERS1982
);
source!(
    /// National Institute of Standards and Technology, Statistical Reference Datasets, nonlinear regression: data, two
    /// starts and certified values of 27 problems (work of the United States government).
    NISTSTRD
);
source!(
    /// R. G. Stansfield, "Statistical theory of D.F. fixing", Journal of the Institution of Electrical Engineers, Part IIIA,
    /// 94 (1947) 762–770. Carried from memory.
    STANSFIELD1947
);
source!(
    /// M. Gavish and A. J. Weiss, "Performance analysis of bearing-only target location algorithms", IEEE Transactions on
    /// Aerospace and Electronic Systems 28 (1992) 817–828: bias of Stansfield's place, maximum likelihood. Carried from
    /// memory.
    GAVISH1992
);
source!(
    /// R. V. Lenth, "On finding the source of a signal", Technometrics 23 (1981) 149–154: maximum likelihood with errors of
    /// von Mises' distribution.
    LENTH1981
);
source!(
    /// P. J. Huber, "Robust estimation of a location parameter", Annals of Mathematical Statistics 35 (1964) 73–101.
    HUBER1964
);
source!(
    /// M. Gudmundson, "Correlation model for shadow fading in mobile radio systems", Electronics Letters 27 (1991) 2145–2146.
    /// Carried from memory.
    GUDMUNDSON1991
);
source!(
    /// A. V. Vecchia, "Estimation and model identification for continuous spatial processes", Journal of the Royal
    /// Statistical Society B 50 (1988) 297–312. Carried from memory.
    VECCHIA1988
);
