using System.Text;
using PavementWatch.Core.Wire;
using PavementWatch.Tests;

namespace PavementWatch.Core.Tests.Wire;

/// <summary>Every pack and every resolved record: RFC 8428, 2018, the section named in each test.</summary>
public class SenMlExamplesTests
{
    private const string Device = "urn:dev:ow:10e2073a01080063";
    private static readonly DateTimeOffset Now = new(2026, 7, 15, 12, 0, 0, 500, TimeSpan.Zero);

    [Fact]
    public void Single_data_point_of_section_5_1_1_is_about_now()
    {
        var record = Assert.Single(Resolve("""[{"n":"urn:dev:ow:10e2073a01080063","u":"Cel","v":23.1}]"""));
        Assert.Equal((Device, "Cel", 23.1, true), (record.Name, record.Unit, record.Value, record.WasRelative));
        Published.Near(Now.ToUnixTimeMilliseconds() / 1000.0, record.UnixSeconds, 1e-6, "RFC 8428, section 4.5.3: zero is now");
    }

    [Fact]
    public void Data_points_of_section_5_1_2_share_a_base_name()
    {
        var records = Resolve("""
            [{"bn":"urn:dev:ow:10e2073a01080063:","n":"voltage","u":"V","v":120.1},
             {"n":"current","u":"A","v":1.2}]
            """);
        Assert.Equal([(Device + ":voltage", "V", 120.1), (Device + ":current", "A", 1.2)], Short(records));
    }

    [Fact]
    public void Data_points_of_section_5_1_2_with_times_resolve_in_time_order()
    {
        var records = Resolve("""
            [{"bn":"urn:dev:ow:10e2073a0108006:","bt":1.276020076001e+09,"bu":"A","bver":5,"n":"voltage","u":"V","v":120.1},
             {"n":"current","t":-5,"v":1.2},{"n":"current","t":-4,"v":1.3},{"n":"current","t":-3,"v":1.4},
             {"n":"current","t":-2,"v":1.5},{"n":"current","t":-1,"v":1.6},{"n":"current","v":1.7}]
            """);
        const string current = "urn:dev:ow:10e2073a0108006:current";
        (string, string?, double?, double)[] expected =
        [
            (current, "A", 1.2, 1276020071.001), (current, "A", 1.3, 1276020072.001), (current, "A", 1.4, 1276020073.001),
            (current, "A", 1.5, 1276020074.001), (current, "A", 1.6, 1276020075.001),
            ("urn:dev:ow:10e2073a0108006:voltage", "V", 120.1, 1276020076.001), (current, "A", 1.7, 1276020076.001),
        ];
        Same(expected, records, "RFC 8428, section 5.1.2");
        Assert.All(records, r => Assert.Equal(5, r.Version));
    }

    [Fact]
    public void Stream_of_section_5_1_2_counts_from_the_base_time()
    {
        var records = Resolve("""
            [{"bn":"urn:dev:ow:10e2073a01080063","bt":1.320067464e+09,"bu":"%RH","v":21.2},
             {"t":10,"v":21.3},{"t":20,"v":21.4},{"t":30,"v":21.4}]
            """);
        (string, string?, double?, double)[] expected =
        [
            (Device, "%RH", 21.2, 1320067464), (Device, "%RH", 21.3, 1320067474),
            (Device, "%RH", 21.4, 1320067484), (Device, "%RH", 21.4, 1320067494),
        ];
        Same(expected, records, "RFC 8428, section 5.1.2, stream");
    }

    [Fact]
    public void Measurements_of_section_5_1_3_resolve_to_those_of_section_5_1_4()
    {
        var records = Resolve("""
            [{"bn":"urn:dev:ow:10e2073a01080063","bt":1.320067464e+09,"bu":"%RH","v":20},
             {"u":"lon","v":24.30621},{"u":"lat","v":60.07965},
             {"t":60,"v":20.3},{"u":"lon","t":60,"v":24.30622},{"u":"lat","t":60,"v":60.07965},
             {"t":120,"v":20.7},{"u":"lon","t":120,"v":24.30623},{"u":"lat","t":120,"v":60.07966},
             {"u":"%EL","t":150,"v":98},
             {"t":180,"v":21.2},{"u":"lon","t":180,"v":24.30628},{"u":"lat","t":180,"v":60.07967}]
            """);
        var resolved = Resolve("""
            [{"n":"urn:dev:ow:10e2073a01080063","u":"%RH","t":1.320067464e+09,"v":20},
             {"n":"urn:dev:ow:10e2073a01080063","u":"lon","t":1.320067464e+09,"v":24.30621},
             {"n":"urn:dev:ow:10e2073a01080063","u":"lat","t":1.320067464e+09,"v":60.07965},
             {"n":"urn:dev:ow:10e2073a01080063","u":"%RH","t":1.320067524e+09,"v":20.3},
             {"n":"urn:dev:ow:10e2073a01080063","u":"lon","t":1.320067524e+09,"v":24.30622},
             {"n":"urn:dev:ow:10e2073a01080063","u":"lat","t":1.320067524e+09,"v":60.07965},
             {"n":"urn:dev:ow:10e2073a01080063","u":"%RH","t":1.320067584e+09,"v":20.7},
             {"n":"urn:dev:ow:10e2073a01080063","u":"lon","t":1.320067584e+09,"v":24.30623},
             {"n":"urn:dev:ow:10e2073a01080063","u":"lat","t":1.320067584e+09,"v":60.07966},
             {"n":"urn:dev:ow:10e2073a01080063","u":"%EL","t":1.320067614e+09,"v":98},
             {"n":"urn:dev:ow:10e2073a01080063","u":"%RH","t":1.320067644e+09,"v":21.2},
             {"n":"urn:dev:ow:10e2073a01080063","u":"lon","t":1.320067644e+09,"v":24.30628},
             {"n":"urn:dev:ow:10e2073a01080063","u":"lat","t":1.320067644e+09,"v":60.07967}]
            """);
        Assert.Equal(13, records.Count);
        Assert.Equal(resolved, records);
        // The first and the battery row by hand, so that the two packs cannot be wrong together.
        Assert.Equal((Device, "%RH", 20, 1320067464), (records[0].Name, records[0].Unit, records[0].Value, records[0].UnixSeconds));
        Assert.Equal((Device, "%EL", 98, 1320067614), (records[9].Name, records[9].Unit, records[9].Value, records[9].UnixSeconds));
    }

    [Fact]
    public void Data_types_of_section_5_1_5_are_kept_apart()
    {
        var records = Resolve("""
            [{"bn":"urn:dev:ow:10e2073a01080063:","n":"temp","u":"Cel","v":23.1},
             {"n":"label","vs":"Machine Room"},{"n":"open","vb":false},{"n":"nfv-reader","vd":"aGkgCg"}]
            """);
        Assert.Equal([(23.1, null), (null, "Machine Room"), (null, null), (null, null)], records.Select(r => (r.Value, r.StringValue)));
        Assert.Equal((false, null), (records[2].BoolValue, records[2].DataValue));
        Assert.Equal((null, "aGkgCg"), (records[3].BoolValue, records[3].DataValue));
    }

    [Fact]
    public void Resources_of_section_5_1_6_change_the_name_and_keep_the_time()
    {
        var records = Resolve("""
            [{"bn":"2001:db8::2/","bt":1.320078429e+09,"n":"temperature","u":"Cel","v":25.2},
             {"n":"humidity","u":"%RH","v":30},
             {"bn":"2001:db8::1/","n":"temperature","u":"Cel","v":12.3},
             {"n":"humidity","u":"%RH","v":67}]
            """);
        (string, string?, double?, double)[] expected =
        [
            ("2001:db8::2/temperature", "Cel", 25.2, 1320078429), ("2001:db8::2/humidity", "%RH", 30, 1320078429),
            ("2001:db8::1/temperature", "Cel", 12.3, 1320078429), ("2001:db8::1/humidity", "%RH", 67, 1320078429),
        ];
        Same(expected, records, "RFC 8428, section 5.1.6");
    }

    [Fact]
    public void Actuators_of_section_5_1_7_begin_with_a_record_of_base_fields_alone()
    {
        var records = Resolve("""
            [{"bn":"urn:dev:ow:10e2073a01080063:"},{"n":"temp","u":"Cel","v":23.1},{"n":"heat","u":"/","v":1},{"n":"fan","u":"/","v":0}]
            """);
        Assert.Equal([(Device + ":temp", "Cel", 23.1), (Device + ":heat", "/", 1), (Device + ":fan", "/", 0)], Short(records));
    }

    private static IEnumerable<(string, string?, double?)> Short(IEnumerable<SenMlRecord> records) =>
        records.Select(r => (r.Name, r.Unit, r.Value));

    private static void Same((string, string?, double?, double)[] expected, IReadOnlyList<SenMlRecord> records, string source)
    {
        Assert.Equal(expected.Select(e => (e.Item1, e.Item2, e.Item3)), Short(records));
        foreach (var (row, record) in expected.Zip(records))
            Published.Near(row.Item4, record.UnixSeconds, 1e-6, source);
    }

    private static IReadOnlyList<SenMlRecord> Resolve(string json)
    {
        var parsed = Assert.IsType<SenMlOutcome.Parsed>(SenMl.Parse(Encoding.UTF8.GetBytes(json), Now));
        Assert.Empty(parsed.Faults);
        return parsed.Records;
    }
}
