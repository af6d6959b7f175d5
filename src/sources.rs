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
    /// G. H. Golub and V. Pereyra, "The differentiation of pseudo-inverses and nonlinear least squares problems whose variables
    /// separate", SIAM Journal on Numerical Analysis 10 (1973) 413–432: unknowns that are linear are eliminated. Carried from
    /// memory.
    GOLUB1973
);
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
    /// Code of Federal Regulations, title 47, § 90.674: what the first notice of interference in the 800 MHz band states (place
    /// and times, scope and severity with the source if known, licence of the sufferer, one point of contact). Carried from memory.
    CFR90674
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
    /// E. B. Wilson, "Probable inference, the law of succession, and statistical inference", Journal of the American
    /// Statistical Association 22 (1927) 209–212: the score interval of a share.
    WILSON1927
);
source!(
    /// B. Efron, "Bootstrap methods: another look at the jackknife", Annals of Statistics 7 (1979) 1–26.
    EFRON1979
);
source!(
    /// A. Kolchinsky and B. D. Tracey, "Estimating mixture entropy with pairwise distances", Entropy 19 (2017) 361, open access:
    /// bounds of what a reading from a mixture tells of its component.
    KOLCHINSKY2017
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
source!(
    /// J. W. Miller, D. B. Dunson, "Robust Bayesian inference via coarsening", Journal of the American Statistical Association
    /// 114 (2019) 1113–1125: with data that follow the model only nearly, the likelihood of n of them is taken to the power
    /// α/(α + n). Carried from memory.
    MILLER2019
);
source!(
    /// M. Caliari, S. De Marchi, M. Vianello, "Bivariate polynomial interpolation on the square at new nodal sets", Applied
    /// Mathematics and Computation 165 (2005) 261–274: the Padua points. Carried from memory.
    CALIARI2005
);
source!(
    /// S. S. Wilks, "The large-sample distribution of the likelihood ratio for testing composite hypotheses", Annals of
    /// Mathematical Statistics 9 (1938) 60–62. Carried from memory.
    WILKS1938
);
source!(
    /// J. Guinness, "Permutation and grouping methods for sharpening Gaussian process approximations", Technometrics 60
    /// (2018) 415–429: points ordered so that each is far from all before it. Carried from memory.
    GUINNESS2018
);
source!(
    /// W. H. Press, S. A. Teukolsky, W. T. Vetterling, B. P. Flannery, "Numerical Recipes in C", 2nd edition, Cambridge
    /// 1992, 6.2: Chebyshev's fit of the complementary error function. Carried from memory.
    PRESS1992
);
source!(
    /// ISO 3746:2010, "Acoustics — Determination of sound power levels … using sound pressure: survey method", § 8.3.3, and
    /// ISO 3744:2010, § 8.2.3: correction for background noise, K₁ = −10 lg(1 − 10^(−0.1 ΔL)) dB; with less than 3 dB
    /// between reading and background (survey method) the result is only an upper bound. Powers add in radio as in sound.
    /// Carried from memory.
    ISO3746
);
source!(
    /// J. Tobin, "Estimation of relationships for limited dependent variables", Econometrica 26 (1958) 24–36: a value that
    /// is only known to lie below a limit counts as just that. Carried from memory.
    TOBIN1958
);
source!(
    /// NIST Digital Library of Mathematical Functions, chapter 7, "Error functions, Dawson's and Fresnel integrals",
    /// <https://dlmf.nist.gov/7>: power series 7.6.4 and 7.6.6, continued fraction 7.9.2, asymptotics 7.12.
    DLMF
);
source!(
    /// Recommendation ITU-R P.525, "Calculation of free-space attenuation": free-space loss, field strength and power
    /// density. Its printed constants (32.4, 74.8, 145.8, 167.2) are carried from memory; the power density there takes
    /// the impedance of free space as 120π Ω.
    P525
);
source!(
    /// Recommendation ITU-R P.526, "Propagation by diffraction", § 4.1: a single knife edge, exact and approximate.
    /// Carried from memory, checked against an independent Fresnel integral.
    P526
);
source!(
    /// Recommendation ITU-R P.372, "Radio noise": noise power k T₀ B with the reference temperature T₀ = 290 K. Carried
    /// from memory.
    P372
);
source!(
    /// Recommendation ITU-R P.1411-12, "Propagation data and prediction methods for the planning of short-range outdoor
    /// radiocommunication systems", Tables 4 and 8: site-general coefficients, as read in the public implementation of
    /// the Communications Research Centre Canada (crc-covlib).
    P1411
);
source!(
    /// Recommendation ITU-R P.1238-11, "Propagation data and prediction methods for the planning of indoor
    /// radiocommunication systems", Table 2: site-general coefficients and their ranges, as read in a public Octave file
    /// (model_p1238.m of octave-rxt). That file calls the frequency MHz; only GHz agrees with free space.
    P1238
);
source!(
    /// Recommendation ITU-R P.2108-1, "Prediction of clutter loss", § 3.2: statistical loss for terrestrial paths, as
    /// read in the reference software of the U.S. Institute for Telecommunication Sciences.
    P2108
);
source!(
    /// 3GPP TR 38.901 v19.4.0, "Study on channel model for frequencies from 0.5 to 100 GHz", Table 7.4.1-1 (loss),
    /// Table 7.5-6 (decorrelation distances), as read in the data of the Python package tr3gpp 0.2.0; the breakpoints of
    /// notes 1 and 5 as read in the online handbook of SEAMCAT. From memory: the frequency limits of note 6 and the
    /// antenna pattern of Table 7.3-1.
    TR38901
);
source!(
    /// M. Hata, "Empirical formula for propagation loss in land mobile radio services", IEEE Transactions on Vehicular
    /// Technology 29 (1980) 317–325. Carried from memory, checked against published reference values.
    HATA1980
);
source!(
    /// COST Action 231, "Digital mobile radio towards future generation systems", final report (1999), § 4.4: extension
    /// of Hata's formula to 1500–2000 MHz. Carried from memory, checked against a published reference value.
    COST231
);
source!(
    /// T. S. Rappaport, "Wireless Communications: Principles and Practice", 2nd edition (2002), Table 4.2 (exponents of
    /// path loss), equation 4.52 (plane earth), example 4.7 (knife edge) and example 4.9 (regression). Carried from memory.
    RAPPAPORT2002
);
source!(
    /// W. C. Y. Lee, "Mobile Communications Engineering" (1982): exponents 3.84 suburban, 3.68 Philadelphia, 4.31
    /// Newark, as read in a public message of P. Karn (1996) that quotes them.
    LEE1982
);
source!(
    /// N. Patwari, A. O. Hero, M. Perkins, N. S. Correal and R. J. O'Dea, "Relative location estimation in wireless
    /// sensor networks", IEEE Transactions on Signal Processing 51 (2003) 2137–2148: the information in a received level.
    PATWARI2003
);
source!(
    /// 3GPP TR 36.942, "Radio frequency (RF) system scenarios": shadowing with correlation 0.5 between sites and 1 between
    /// the sectors of one site. Carried from memory.
    TR36942
);
source!(
    /// J. C. Naylor and A. F. M. Smith, "Applications of a method for the efficient computation of posterior
    /// distributions", Applied Statistics 31 (1982) 214–225: Gauss–Hermite rules recentred by the moments that the rule
    /// before gives. Carried from memory.
    NAYLOR1982
);
source!(
    /// Recommendation ITU-R SM.1134, "Intermodulation interference calculations in the land-mobile service": orders and
    /// forms of products. Carried from memory.
    SM1134
);
source!(
    /// C. A. Balanis, "Antenna Theory", 3rd edition (2005), § 2.15: effective area λ²G/4π; §§ 4.2 and 5.2: the field of a
    /// small dipole or loop goes with the sine of the angle from its axis. Carried from memory.
    BALANIS2005
);
source!(
    /// Bureau international des poids et mesures, "The International System of Units", 9th edition (2019): the Boltzmann
    /// constant 1.380649e-23 J/K and the speed of light 299 792 458 m/s, both exact.
    SI2019
);
source!(
    /// B. Matérn, "Spatial Variation", 2nd edition, Lecture Notes in Statistics 36 (Springer 1986): spectral densities of
    /// correlation functions in the plane; that of exp(−δ/D) is D²/2π · (1 + k²D²)^(−3/2). Carried from memory.
    MATERN1986
);
source!(
    /// A. Rahimi and B. Recht, "Random features for large-scale kernel machines", Advances in Neural Information Processing
    /// Systems 20 (2007) 1177–1184: a stationary process as a sum of waves drawn from its spectrum. Carried from memory.
    RAHIMI2007
);
source!(
    /// S. O. Rice, "Mathematical analysis of random noise", Bell System Technical Journal 23 (1944) 282–332 and 24 (1945)
    /// 46–156: a steady wave in Gaussian noise. Carried from memory.
    RICE1944
);
source!(
    /// A. Gelb (editor), "Applied Optimal Estimation" (MIT Press 1974), § 2.2: a first-order Markov process, whose
    /// correlation falls as exp(−t/τ). Carried from memory.
    GELB1974
);
source!(
    /// F. P. Fontán and P. Mariño Espiñeira, "Modelling the Wireless Propagation Channel" (Wiley 2008): mirror images in
    /// plane façades. Carried from memory.
    FONTAN2008
);
source!(
    /// M. J. Feuerstein, K. L. Blackard, T. S. Rappaport, S. Y. Seidel and H. H. Xia, "Path loss, delay spread, and outage
    /// models as functions of antenna height for microcellular system design", IEEE Transactions on Vehicular Technology 43
    /// (1994) 487–498: two slopes that meet at a breakpoint. Carried from memory.
    FEUERSTEIN1994
);
source!(
    /// G. Marsaglia and W. W. Tsang, "A simple method for generating gamma variables", ACM Transactions on Mathematical
    /// Software 26 (2000) 363–372. Carried from memory, checked by moments.
    MARSAGLIA2000
);
source!(
    /// J. D. Kraus and R. J. Marhefka, "Antennas for All Applications", 3rd edition (2002): a loop and a rod together make a
    /// cardioid, 1 + cos θ. Carried from memory.
    KRAUS2002
);
source!(
    /// Recommendation ITU-R F.1336, "Reference radiation patterns of omnidirectional, sectoral and other antennas": the
    /// main lobe of a sectoral antenna falls as −12 (θ/θ₃)² dB. Carried from memory.
    F1336
);
source!(
    /// A. Gelman, J. B. Carlin, H. S. Stern, D. B. Dunson, A. Vehtari and D. B. Rubin, "Bayesian Data Analysis", 3rd edition
    /// (2013): scaled inverse χ² prior of a variance (§ 2.6), normal approximation of an integral (§§ 4.1, 13.3), models
    /// weighed by their evidence (§ 7.4). Carried from memory.
    GELMAN2013
);
source!(
    /// S. M. Kay, "Fundamentals of Statistical Signal Processing: Estimation Theory" (1993), § 3.9: the Cramér–Rao bound of
    /// parameters of a signal in white normal noise. Carried from memory.
    KAY1993
);
source!(
    /// Headquarters, Department of the Army, "Map Reading and Land Navigation", FM 3-25.26 (2001), 9-3: distances from which metal
    /// and lines of power no longer turn a compass: lines of power 55 m, vehicles 18 m, wires 10 m. Carried from memory.
    FM32526
);
source!(
    /// A. N. Bishop, B. Fidan, B. D. O. Anderson, K. Doğançay and P. N. Pathirana, "Optimality analysis of sensor-target localization
    /// geometries", Automatica 46 (2010) 479–492: information of bearings, and the directions that make it greatest. Abstract
    /// read, formulas carried from memory.
    BISHOP2010
);
source!(
    /// Sensors 22 (2022), number 24, article 9802: bearings with a normal prior. The next stand of least determinant and trace lies on
    /// the line of the minor axis of the prior's ellipse. Abstract read.
    SENSORS2022
);
source!(
    /// National Institute of Standards and Technology, "Secure Hash Standard", FIPS 180-4 (2015): SHA-256; example values of
    /// the hashes of "abc", of 448 bits, of the empty message and of a million letters a are published with it.
    FIPS180
);
source!(
    /// S. Haber and W. S. Stornetta, "How to time-stamp a digital document", Journal of Cryptology 3 (1991) 99–111: each entry
    /// holds the hash of the one before. Carried from memory.
    HABER1991
);
source!(
    /// International Telecommunication Union, "Radio Regulations", Appendix 10: particulars of a report of harmful interference,
    /// lines a to o as circulated from Appendix S10; later lines carried from memory are not given letters.
    RR10
);
source!(
    /// J. Edmonds, "Maximum matching and a polyhedron with 0,1-vertices", Journal of Research of the National Bureau of Standards
    /// 69B (1965) 125–130: matchings of least weight. Carried from memory.
    EDMONDS1965
);
source!(
    /// J. Edmonds and E. L. Johnson, "Matching, Euler tours and the Chinese postman", Mathematical Programming 5 (1973) 88–124.
    /// Carried from memory.
    EDMONDS1973
);
source!(
    /// F. Aurenhammer, F. Hoffmann and B. Aronov, "Minkowski-type theorems and least-squares clustering", Algorithmica 20 (1998)
    /// 61–76: for given sites and sizes a power diagram exists whose cells have these sizes, and it is the assignment of least
    /// squares. Read in its abstract.
    AURENHAMMER1998
);
source!(
    /// R. K. Ahuja, T. L. Magnanti and J. B. Orlin, "Network Flows", Prentice Hall (1993), section 9.7: successive shortest paths.
    /// Carried from memory.
    AHUJA1993
);
source!(
    /// C. Berge, "Two theorems in graph theory", Proceedings of the National Academy of Sciences 43 (1957) 842–844: a matching is the
    /// largest when no augmenting path is left. Carried from memory.
    BERGE1957
);
source!(
    /// S. Kirkpatrick, C. D. Gelatt and M. P. Vecchi, "Optimization by simulated annealing", Science 220 (1983) 671–680.
    KIRKPATRICK1983
);
source!(
    /// B. O. Koopman, "Search and Screening", Pergamon (1980; first as OEG report 56, 1946): detection against coverage at random
    /// and under the inverse cube law. Carried from memory.
    KOOPMAN1980
);
source!(
    /// L. D. Stone, "Theory of Optimal Search", Academic Press (1975), chapter 2: the best use of effort. Carried from memory.
    STONE1975
);
source!(
    /// Federal Emergency Management Agency, "ICS 204, Assignment List", FEMA Incident Command System forms (public domain). Blocks carried
    /// from memory.
    ICS204
);
source!(
    /// Recommendation ITU-R SM.1880-2 (09/2017), "Spectrum occupancy measurements and evaluation", Annex 1 § 3.4 and Annex 2:
    /// occupancy of a channel, confidence, number of samples, dependent and independent. Only its table of contents was read;
    /// the number of independent samples, z² (1 − p)/(p r²), is the textbook's for a share and carried from memory.
    SM1880
);
source!(
    /// N. Otsu, "A threshold selection method from gray-level histograms", IEEE Transactions on Systems, Man, and Cybernetics
    /// 9 (1979) 62–66. Carried from memory, checked against a direct search.
    OTSU1979
);
source!(
    /// M. B. Priestley, "Spectral Analysis and Time Series" (1981), § 5.3.2: the variance of a mean of correlated values.
    /// Carried from memory.
    PRIESTLEY1981
);
source!(
    /// P. S. Laplace, "Mémoire sur la probabilité des causes par les évènemens" (1774): the rule of succession, (k + 1)/(n + 2).
    /// Carried from memory.
    LAPLACE1774
);
source!(
    /// J. Arbuthnot, "An argument for Divine Providence", Philosophical Transactions 27 (1710) 186–190: the sign test. Carried
    /// from memory, checked against scipy.
    ARBUTHNOT1710
);
source!(
    /// P. Good, "Permutation, Parametric and Bootstrap Tests of Hypotheses", 3rd edition (2005): permutations that keep what is
    /// alike. Carried from memory.
    GOOD2005
);
source!(
    /// H. Jeffreys, "Theory of Probability", 3rd edition (1961), appendix B: grades of evidence by half powers of ten of the Bayes
    /// factor. Carried from memory.
    JEFFREYS1961
);
source!(
    /// Open Geospatial Consortium, "OGC KML 2.3", 12-007r2 (2015). Its namespace is that of 2.2. Carried from memory; the order of elements
    /// is checked against the schema of 2.2 (`fixtures/schemas`).
    KML23
);
source!(
    /// Google, "Open Location Code: specification", github.com/google/open-location-code, Apache-2.0: digits, pairs, cells and padding.
    OLC
);
source!(
    /// TopoGrafix, "GPX 1.1 Schema Documentation" (2004), topografix.com/GPX/1/1; its schema is in `fixtures/schemas`.
    GPX11
);
source!(
    /// Open Geospatial Consortium, "OGC GeoPackage Encoding Standard" 1.3, 12-128r17 (2021): tables, geometries, extensions Metadata and
    /// Schema. Carried from memory, checked with GDAL and SQLite.
    GEOPACKAGE
);
source!(
    /// Open Geospatial Consortium, "Symbology Encoding Implementation Specification" 1.1.0, 05-077r4 (2006). Carried from memory.
    SYMBOLOGY
);
source!(
    /// Y. Shafranovich, "Common Format and MIME Type for Comma-Separated Values (CSV) Files", RFC 4180 (2005).
    RFC4180
);
source!(
    /// World Wide Web Consortium, "Extensible Markup Language (XML) 1.0", 5th edition (2008), production 2: the characters that a document
    /// may hold.
    XML
);
source!(
    /// H. D. Patterson and R. Thompson, "Recovery of inter-block information when block sizes are unequal", Biometrika 58 (1971) 545–554: restricted
    /// likelihood, in which an unknown mean costs no bias of the variance. Carried from memory.
    PATTERSON1971
);
source!(
    /// F. W. Zwiers and H. von Storch, "Taking serial correlation into account in tests of the mean", Journal of Climate 8 (1995)
    /// 336–351: effective sample size, and how much a plugged-in correlation understates. Carried from memory.
    ZWIERS1995
);
source!(
    /// R. E. Kalman, "A new approach to linear filtering and prediction problems", Journal of Basic Engineering 82 (1960) 35–45:
    /// prediction and correction, value by value. Carried from memory.
    KALMAN1960
);
source!(
    /// JCGM 100:2008, "Evaluation of measurement data – Guide to the expression of uncertainty in measurement" (GUM 1995 with minor
    /// corrections). Its examples carried from memory, and H.2 computed again from its readings.
    GUM
);
source!(
    /// JCGM 106:2012, "Evaluation of measurement data – The role of measurement uncertainty in conformity assessment": guarded
    /// acceptance and rejection, probability of conformity. Carried from memory.
    JCGM106
);
source!(
    /// ILAC-G8:09/2019, "Guidelines on decision rules and statements of conformity": simple acceptance, guard bands of U, statements
    /// that are not binary. Carried from memory.
    ILACG8
);
source!(
    /// B. L. Welch, "The generalization of 'Student's' problem when several different population variances are involved",
    /// Biometrika 34 (1947) 28–35, and F. E. Satterthwaite, Biometrics Bulletin 2 (1946) 110–114: effective degrees of freedom.
    /// Carried from memory.
    WELCH1947
);
source!(
    /// I. A. Harris and F. L. Warner, "Re-examination of mismatch uncertainty when measuring microwave power and attenuation",
    /// IEE Proceedings H 128 (1981) 35–41: limits by two reflections of unknown phase, U-shaped. Carried from memory.
    HARRIS1981
);
source!(
    /// ISO 14289-1:2014, "Document management applications: Electronic document file format enhancement for accessibility,
    /// Part 1: Use of ISO 32000-1 (PDF/UA-1)". What of it a program can check, the library that writes the file checks.
    PDFUA1
);
source!(
    /// W3C, "Scalable Vector Graphics (SVG) 1.1 (Second Edition)", Recommendation of 16 August 2011; chapter 8.3 has the
    /// commands of paths.
    SVG
);
