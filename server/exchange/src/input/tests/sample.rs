//! A small input with a row or more in every table. All of it is invented.

use super::folder;
use tempfile::TempDir;

pub(super) const SAMPLE: [(&str, &str); 35] = [
    (
        "parts",
        "part,title,kind\n\
         K10,isolating cock,isolating_cock\n\
         C7,caliper with cylinder,caliper\n\
         R4,reservoir,reservoir\n\
         P2,panel,control_panel\n",
    ),
    (
        "part_positions",
        "part,position,title,kind,approved_parts,vacancy\n\
         P2,-Q1,cock,isolating_cock,K10;K11,forbidden\nP2,-G1,reservoir,reservoir,R4,\n",
    ),
    (
        "car_types",
        "car_type,revision,fleet,title,vehicle_kind,hand_brake,usual_brake_position,\
         length_mm,speed_max_km_h,daily_km_max,mass_minimum_kg,mass_normal_kg,mass_maximum_kg,rotating_mass_kg,\
         wheel_new_mm,wheel_worn_mm,adhesion_max_thousandths,demand_sharing,main_air_least_mbar\n\
         T1,A,Tarn,trailer,car,inside,R,20000,120,900,30000,,40000,1900,920,870,150,not_shared,7800\n",
    ),
    (
        "axles",
        "car_type,revision,bogie,axle,along_mm\n\
         T1,A,2,3,15000\nT1,A,1,2,5000\nT1,A,1,1,3000\n",
    ),
    (
        "positions",
        "car_type,revision,position,title,kind,bogie,axle,end,side,along_mm,approved_parts,\
         settings,aliases,behaviour,modes,venting,volume_l,holding_force_n\n\
         T1,A,=BS-G1,supply,reservoir,,,,left,9000,R4,,,reservoir,,,100,\n\
         T1,A,=BS-Q1,cock of bogie 1,isolating_cock,1,,,,8000,K10,\
         handle@upright@inverted,label 7@car label;12.3@drawing,cock,,yes,,\n\
         T1,A,=BS-C1,caliper of axle 1,caliper,1,1,,right,3000,C7;C8,,,air_applied,,,,\n\
         T1,A,=BS-V1,emergency valve,emergency_valve,,,end1,,100,,,,source,service;emergency,,,\n",
    ),
    (
        "lines",
        "car_type,revision,from,to,input,medium,modes\n\
         T1,A,end1:main_pipe,=BS-G1,in,main_air,\n\
         T1,A,=BS-V1,=BS-Q1,in,cylinder_pressure,\n\
         T1,A,=BS-Q1,=BS-C1,in,cylinder_pressure,service;emergency\n",
    ),
    (
        "braked_weights",
        "car_type,revision,position,brake_position,load,braked_weight_kg\n\
         T1,A,=BS-C1,R,minimum,9000\n",
    ),
    (
        "brake_groups",
        "car_type,revision,group,positions,acts_on,friction_radius_mm,piston_area_mm2,\
         cylinder_efficiency_thousandths,spring_n,ratio_thousandths,adjuster_n,\
         efficiency_thousandths,friction_thousandths,stop_energy_max_kj,cylinder_volume_ml\n\
         T1,A,calipers,=BS-C1,disc,247,26000,960,450,2450,0,950,350,7500,900\n",
    ),
    (
        "cylinder_pressures",
        "car_type,revision,group,brake_position,load,pressure_mbar,delay_ms,rise_ms\n\
         T1,A,calipers,R,minimum,3000,800,3600\n",
    ),
    (
        "tasks",
        "task,revision,title,kind,part,car_type,counts_from,clock_start,satisfies,due_at_once_after,\
         source,months,months_late,km,km_early\n\
         C7-OH,1,overhaul,overhaul,C7,,done,overhaul,C7-T;C7-I,,invented,96,30,1200000.5,1000\n\
         T1-B1,1,brake test,test,,T1,due_point,fitting,,\
         exchanged relay_valve 2024-02-01; coupled 2024-03-01,invented,12,,,\n",
    ),
    (
        "procedures",
        "procedure,revision,title,part,car_type,source,measurand,load,role,unit,lower,upper\n\
         T1-BT,A,brake test,,T1,invented,cylinder pressure,minimum,result,bar,2.5,2.75\n\
         T1-BT,A,brake test,,T1,invented,cylinder pressure,maximum,result,bar,3.6,4\n\
         T1-BT,A,brake test,,T1,invented,supply pressure,,condition,bar,8,\n",
    ),
    (
        "rule_sets",
        "rule_set,revision,issuer,proposed_by,approved_by,note,valid_from,valid_until,\
         whereabouts,train_kinds,movements\n\
         R1,A,Tarn,Reed,Sedge,figures of an example,2020-01-01,2029-12-31,,commuter;freight,in_service\n",
    ),
    (
        "rules",
        "rule_set,revision,rule,title,source_kind,source,whereabouts,train_kinds,movements,\
         falls_steeper_than_per_mille,faster_than_km_h,further_than_m,in_season,on_routes,\
         requirement\n\
         R1,A,1,share,published,Rules 1.2,,,,,,,,,\"{\"\"always\"\":\"\"may_run\"\"}\"\n\
         R1,A,2,last,common_practice,,on_the_road,freight,,-25,62.5,1000,10-01 to 12-15,Moor;Coast,\"{\"\"end_vehicle\"\":\
         {\"\"end\"\":\"\"last\"\",\"\"counts_as_braked\"\":\"\"all_axles\"\",\
         \"\"otherwise\"\":\"\"may_not_run\"\"}}\"\n",
    ),
    (
        "modifications",
        "modification,title,part,state,positions,car_type,cars,by,source,since\n\
         M-1,stiffer spring,C7,B,=BS-C1,,,2024-12-31,instruction 7,2024-02-01\n\
         M-2,another label,,,,T1,4101;4103 to 4105,2024-12-31,instruction 8,2024-02-01\n",
    ),
    (
        "concessions",
        "concession,cars,position,part,setting,outside_range,values,risk,until,since\n\
         C-1,4101,=BS-C1,C9,,,,checked every week,2024-12-31,2024-03-01\n\
         C-2,4101,=BS-Q1,,handle,,,seen from both sides,2024-12-31,2024-03-01\n\
         C-3,4102,=BS-Q1,,handle,yes,sideways,seen from both sides,2024-12-31,2024-03-01\n",
    ),
    (
        "cars",
        "car,vehicle_number,car_type,revision,fleet,depot,since\n\
         4101,,T1,A,Tarn,Marrowby,2024-01-01\n\
         4102,,T1,A,Tarn,Marrowby,2024-01-01\n",
    ),
    (
        "units",
        "unit,place,car,orientation,since\n\
         T-1,2,4102,reversed,2024-01-01\nT-1,1,4101,forward,2024-01-01\n",
    ),
    (
        "meter_replacements",
        "car,meter,last_value,first_value,at\n4101,odometer,1200.5,0,2024-03-01T10:00Z\n",
    ),
    (
        "readings",
        "car,meter,value,at,confirmed\n\
         4101,odometer,1000,2024-02-01,\n4101,odometer,300,2024-04-01,transfer run\n",
    ),
    (
        "locations",
        "location,kind,since\nRoad,in_transit,2024-01-01\n",
    ),
    (
        "components",
        "part,serial,condition,location,manufactured_on,overhauled_on,km,running_hours,\
         compressor_hours,certificate,batch,received_at,reason\n\
         C7,0017,serviceable,Marrowby store,2019-05-02,,51000,,,C 12/2019,L19-2,2024-01-01,\
         taken over\n\
         C7,0018,serviceable,Marrowby store,,,,,,,,2024-01-01,\n",
    ),
    (
        "conditions",
        "part,serial,condition,evidence,at\nC7,0017,serviceable,release 4/2024,2024-05-20\n",
    ),
    (
        "plates",
        "part,serial,plate,cause,at,reason\nC7,0018,0018R,replaced,2024-04-02,order 11\n",
    ),
    (
        "inner_fitments",
        "host_part,host_serial,position,part,serial,from,until,removal_reason,removed_to,\
         condition_after\nP2,7,-Q1,K10,3,2024-01-02,,,,\n",
    ),
    (
        "fitments",
        "car,position,part,serial,from,until,removal_reason,removed_to,condition_after\n\
         4101,=BS-C1,C7,0017,2024-01-02,2024-05-01T08:30+01:00,failed,Marrowby workshop,\
         unserviceable\n\
         4101,=BS-C1,C7,0018,2024-05-01T09:30+01:00,,,,\n",
    ),
    (
        "relocations",
        "part,serial,to,bound_for,expected_on,at\nC7,0017,Road,Marrowby store,2024-05-22,2024-05-21\n",
    ),
    (
        "settings",
        "car,position,setting,value,how,at,reason\n\
         4101,=BS-Q1,handle,inverted,,2024-05-02,pipe in the way\n\
         4101,=BS-Q1,handle,askew,found,2024-05-05,\n",
    ),
    (
        "embodied",
        "modification,part,serial,car,at,evidence\n\
         M-1,C7,0018,,2024-05-03,order 14\nM-2,,,4101,2024-05-04,order 15\n",
    ),
    (
        "tasks_done",
        "task,part,serial,car,at,evidence\n\
         C7-T,C7,0018,,2024-04-30,order 12\nT1-B1,,,4101,2024-06-01,order 13\n",
    ),
    (
        "test_records",
        "test_record,procedure,revision,part,serial,car,at,tester,instrument,calibrated_until,\
         measurand,load,value\n\
         TR-1,T1-BT,A,,,4101,2024-06-02T16:00Z,A. Tester,G-7,2024-12-31,cylinder pressure,\
         minimum,2.625\n\
         TR-1,T1-BT,A,,,4101,2024-06-02T16:00Z,A. Tester,G-7,2024-12-31,supply pressure,,9\n",
    ),
    (
        "trains",
        "train,place,unit,car,orientation,since\n\
         9001,1,T-1,,reversed,2024-06-01T04:00Z\n9001,2,,4103,forward,2024-06-01T04:00Z\n",
    ),
    (
        "isolations",
        "car,position,state,cause,since,not_before,until,proved_by\n\
         4101,=BS-Q1,closed_vented,leak,2024-06-02,2024-06-01,2024-06-03,TR-1\n\
         4101,=BS-Q1,closed_trapped,found closed,2024-06-09,,,\n",
    ),
    (
        "visits",
        "visit,unit,depot,from,until,hours,modifications,since\n\
         V-1,T-1,Marrowby,2024-07-01,2024-07-03,48,M-1;M-2,2024-06-10\n",
    ),
    (
        "fleet_checks",
        "title,instruction,looked_for,answer_by,since,car,answer,answered_by,answered_at,remark\n\
         cracked seats,look at the seat,part C7,2024-07-01,2024-06-10,4101,defective,A. Tester,\
         2024-06-11,crack of 4 mm\n\
         cracked seats,look at the seat,part C7,2024-07-01,2024-06-10,4102,,,,\n",
    ),
    (
        "holds",
        "part,serial,car,investigation,since\n\
         C7,0017,,collision at Marrowby,2024-06-12\n",
    ),
];

/// The sample as a folder of CSV files.
pub(super) fn sample_folder() -> TempDir {
    let files: Vec<(String, &[u8])> = SAMPLE
        .iter()
        .map(|(name, content)| (format!("{name}.csv"), content.as_bytes()))
        .collect();
    let files: Vec<(&str, &[u8])> = files.iter().map(|(n, c)| (n.as_str(), *c)).collect();
    folder(&files)
}
