namespace PavementWatch.Core.Power;

/// <summary>What a battery is made of. The zero is the cautious one: it gives least.</summary>
public enum BatteryKind
{
    /// <summary>Lead-acid: gel, absorbent mat or flooded.</summary>
    LeadAcid = 0,

    /// <summary>Lithium iron phosphate.</summary>
    LithiumIronPhosphate,
}
