namespace PavementWatch.Server.Registry.Rows;

/// <summary>A dog.</summary>
internal sealed class DogRow
{
    public int Id { get; init; }

    public required string Name { get; set; }

    public double? WeightKilograms { get; set; }

    public DateOnly? BornOn { get; set; }

    public bool FlatFaced { get; set; }

    public bool Overweight { get; set; }

    /// <summary>[°C] A lower limit for sore or young pads; <c>null</c> takes the spot's.</summary>
    public double? LimitCelsius { get; set; }
}

/// <summary>A planned or finished walk of one dog.</summary>
internal sealed class WalkRow
{
    public int Id { get; init; }

    public required int DogId { get; init; }

    /// <summary>Who walks; <c>null</c> when they have left since.</summary>
    public required int? WalkerId { get; set; }

    public required DateTimeOffset Start { get; set; }

    public required int Minutes { get; set; }

    /// <summary>What was done and why, in plain words; the owner reads it.</summary>
    public string Note { get; set; } = "";

    public List<WalkSpotRow> Spots { get; init; } = [];
}

/// <summary>A spot on a walk.</summary>
internal sealed class WalkSpotRow
{
    public int WalkId { get; init; }

    public required string SpotId { get; init; }

    /// <summary>Order on the walk, from 0.</summary>
    public int Position { get; init; }
}
