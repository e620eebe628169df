import java.io.File;
import java.util.List;
import org.verapdf.gf.foundry.VeraGreenfieldFoundryProvider;
import org.verapdf.pdfa.Foundries;
import org.verapdf.pdfa.PDFAParser;
import org.verapdf.pdfa.PDFAValidator;
import org.verapdf.pdfa.flavours.PDFAFlavour;
import org.verapdf.pdfa.results.TestAssertion;
import org.verapdf.pdfa.results.ValidationResult;

/** Asks the open validator whether every file named is PDF/A-2a and PDF/UA-1; ends with 1 where one is not. */
public final class Validate {
    private static final List<PDFAFlavour> ASKED = List.of(PDFAFlavour.PDFA_2_A, PDFAFlavour.PDFUA_1);

    public static void main(String[] files) throws Exception {
        VeraGreenfieldFoundryProvider.initialise();
        boolean good = files.length > 0;
        for (String file : files) {
            for (PDFAFlavour flavour : ASKED) {
                good &= compliant(new File(file), flavour);
            }
        }
        if (files.length == 0) {
            System.out.println("no file was named");
        }
        System.exit(good ? 0 : 1);
    }

    private static boolean compliant(File file, PDFAFlavour flavour) throws Exception {
        try (PDFAParser parser = Foundries.defaultInstance().createParser(file, flavour)) {
            PDFAValidator validator = Foundries.defaultInstance().createValidator(flavour, 20, true, false, false);
            ValidationResult result = validator.validate(parser);
            System.out.printf("%s, %s: %s, %,d checks%n", file.getName(), flavour.getId(),
                    result.isCompliant() ? "compliant" : "NOT compliant", result.getTotalAssertions());
            for (TestAssertion one : result.getTestAssertions()) {
                if (one.getStatus() == TestAssertion.Status.FAILED) {
                    System.out.printf("  %s: %s (%s)%n", one.getRuleId(), one.getMessage(), one.getLocation().getContext());
                }
            }
            return result.isCompliant();
        }
    }
}
