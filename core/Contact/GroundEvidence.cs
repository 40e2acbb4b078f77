namespace PavementWatch.Core.Contact;

/// <summary>What speaks for a temperature of the ground; the zero is the one that ends no ice.</summary>
public enum GroundEvidence
{
    /// <summary>A reading in doubt.</summary>
    Doubtful = 0,

    /// <summary>The lower end of an estimate, where nothing is measured.</summary>
    Estimated,

    /// <summary>The lower end of an estimate of the time to come.</summary>
    Expected,

    /// <summary>A good reading.</summary>
    Good,
}
